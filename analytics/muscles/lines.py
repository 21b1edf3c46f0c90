"""Lines: straight-line rates of noisy body measures, with a prior for the noise, on arrays of sums."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from analytics.muscles.mixed import Array

PRIOR_DF = 4.0
"""Observations that the prior spread of a measure is worth."""


@dataclass(frozen=True, kw_only=True)
class Sums:
    """Sums over the points of each window, all (w,): count, days t and values y, and their products."""

    n: Array
    t: Array
    tt: Array
    y: Array
    ty: Array
    yy: Array


@dataclass(frozen=True, kw_only=True)
class Line:
    """Least-squares lines, all (w,): value at the first and last day, slope per day, errors, and degrees.

    Windows with fewer than two days have NaN slopes; their level is the mean.
    """

    start: Array
    end: Array
    end_se: Array
    slope: Array
    slope_se: Array
    df: Array


def fit_lines(sums: Sums, first: Array, last: Array, prior_sd: Array) -> Line:
    """Lines through windows, their noise shrunk towards `prior_sd` worth PRIOR_DF points.

    Two points have no residual of their own; the prior says how far a third would lie off.  Scaled inverse
    chi-square prior, so intervals are Student's t with n - 2 + PRIOR_DF degrees (Gelman et al., Bayesian Data
    Analysis, section 2.6, from memory).
    """
    mean_t, mean_y = sums.t / sums.n, sums.y / sums.n
    stt = sums.tt - sums.n * mean_t**2
    sty = sums.ty - sums.n * mean_t * mean_y
    syy = sums.yy - sums.n * mean_y**2
    tilted = stt > 1e-6
    slope = np.where(tilted, sty / np.where(tilted, stt, 1.0), np.nan)
    known_slope = np.nan_to_num(slope)
    residual = np.maximum(syy - known_slope * sty, 0.0)
    own_df = np.maximum(sums.n - np.where(tilted, 2.0, 1.0), 0.0)
    df = own_df + PRIOR_DF
    variance = (residual + PRIOR_DF * prior_sd**2) / df
    lean = np.where(tilted, (last - mean_t) ** 2 / np.where(tilted, stt, 1.0), 0.0)
    return Line(
        start=mean_y + known_slope * (first - mean_t),
        end=mean_y + known_slope * (last - mean_t),
        end_se=np.sqrt(variance * (1.0 / sums.n + lean)),
        slope=slope,
        slope_se=np.where(tilted, np.sqrt(variance / np.where(tilted, stt, 1.0)), np.nan),
        df=df,
    )


def t80(df: Array) -> Array:
    """Half width of an 80 % interval in standard errors."""
    return np.asarray(stdtrit(df, 0.9), dtype=float)
