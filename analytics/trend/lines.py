"""Lines: the drawn course of each lift, looking back over all its sessions."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analytics.trend.kalman import LocalTrend, TrendFit, fit_local_trend

Floats = NDArray[np.float64]

LEVEL_VAR_PER_WEEK, SLOPE_VAR_PER_WEEK = 0.0015**2, 0.0006**2
START_SLOPE, START_SLOPE_SD = 0.002, 0.006
"""Log-strength a week; a lift's first slope before any session."""


def fit_lines(value: Floats, variance: Floats, day: Floats) -> TrendFit:
    """Smoothed level and slope a day at each session; arrays (series, sessions), nan where a series has
    ended.
    """
    count = len(value)
    precision = np.diag([1e-6, 1 / (START_SLOPE_SD / 7) ** 2])
    model = LocalTrend(
        level_var=np.full(count, LEVEL_VAR_PER_WEEK / 7),
        slope_var=np.full(count, SLOPE_VAR_PER_WEEK / 7**3),
        start_mean=np.array([0.0, START_SLOPE / 7]),
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
