"""Regression: straight lines by least squares through many short stretches at once, on arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Lines:
    """Shapes (...): intercept and slope, their standard errors, residual standard deviation, and points used.

    nan where there are fewer than two points (errors: three).
    """

    intercept: Floats
    slope: Floats
    intercept_se: Floats
    slope_se: Floats
    residual_sd: Floats
    points: Floats


def straight_lines(time: Floats, value: Floats) -> Lines:
    """Ordinary least squares of `value` on `time` along the last axis; nan values are left out.

    Sums are taken about the means, which keeps the digits that NIST's certified sets ask for.
    """
    known = np.isfinite(value)
    count = known.sum(axis=-1).astype(float)
    with np.errstate(invalid="ignore", divide="ignore"):
        time_mean = np.where(known, time, 0).sum(axis=-1) / count
        value_mean = np.where(known, value, 0).sum(axis=-1) / count
        x = np.where(known, time - time_mean[..., None], 0)
        y = np.where(known, value - value_mean[..., None], 0)
        sxx = (x * x).sum(axis=-1)
        slope = np.where(count >= 2, (x * y).sum(axis=-1) / sxx, np.nan)
        residual = np.where(known, y - slope[..., None] * x, 0)
        freedom = np.where(count >= 3, count - 2, np.nan)
        variance = (residual**2).sum(axis=-1) / freedom
        return Lines(
            intercept=value_mean - slope * time_mean,
            slope=slope,
            intercept_se=np.sqrt(variance * (1 / count + time_mean**2 / sxx)),
            slope_se=np.sqrt(variance / sxx),
            residual_sd=np.sqrt(variance),
            points=count,
        )


def median_slope(time: Floats, value: Floats) -> float:
    """Median of the slopes of all pairs of points (Sen 1968, J Am Stat Assoc 63:1379-1389)."""
    first, second = np.triu_indices(len(time), k=1)
    step = time[second] - time[first]
    usable = step != 0
    return float(np.median((value[second] - value[first])[usable] / step[usable]))
