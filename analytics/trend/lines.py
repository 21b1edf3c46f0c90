"""Lines: the drawn course of each lift, looking back over all its sessions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.trend.kalman import LocalTrend, TrendFit, fit_local_trend

Floats = NDArray[np.float64]

LEVEL_VAR_PER_WEEK, SLOPE_VAR_PER_WEEK = 0.0015**2, 0.0006**2
END_LEVEL_SD, END_SLOPE_SHARE = 0.002, 0.2
"""How closely the line's end keeps to the strength told, and to the slope told as a share of its
uncertainty.
"""


@dataclass(frozen=True, kw_only=True)
class LineEnds:
    """What is told of each series at its last session: log-strength, weekly slope and its standard
    deviation.
    """

    level: Floats
    slope: Floats
    slope_sd: Floats


def fit_lines(value: Floats, variance: Floats, day: Floats, ends: LineEnds) -> TrendFit:
    """Smoothed level and slope at each session, the last one first.

    Arrays have shape (series, sessions) with each series' sessions from the last to the first, then nan.
    The smoother runs from the present backwards, starting from what is told, so line and call are one
    view.  Slopes come out per day, and backwards: minus the ordinary ones.
    """
    count = len(value)
    precision = np.zeros((count, 2, 2))
    precision[:, 0, 0] = 1 / END_LEVEL_SD**2
    precision[:, 1, 1] = 1 / (END_SLOPE_SHARE * ends.slope_sd / 7) ** 2
    model = LocalTrend(
        level_var=np.full(count, LEVEL_VAR_PER_WEEK / 7),
        slope_var=np.full(count, SLOPE_VAR_PER_WEEK / 7**3),
        start_mean=np.column_stack([ends.level, -ends.slope / 7]),
        start_precision=precision,
    )
    return fit_local_trend(value, variance, day, model)


def padded(index: NDArray[np.intp], values: Floats, fill: str) -> Floats:
    """Long values with a rising series index as a matrix; the tail is nan (`fill` "nan") or repeats
    ("last").
    """
    counts = np.bincount(index)
    place = np.arange(len(index)) - np.repeat(np.cumsum(counts) - counts, counts)
    matrix = np.full((len(counts), counts.max()), np.nan)
    matrix[index, place] = values
    if fill == "last":
        last = np.repeat(matrix[np.arange(len(counts)), counts - 1][:, None], matrix.shape[1], axis=1)
        matrix = np.where(np.isnan(matrix), last, matrix)
    return matrix
