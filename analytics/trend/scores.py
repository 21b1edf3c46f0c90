"""Scores: what simple rules say about each lift, week by week and from the past alone, on arrays.

All matrices have shape (series, weeks); nan where there was no session.  Each rule is also a yardstick
that the regime filter is measured against.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analytics.trend.regression import straight_lines

Floats = NDArray[np.float64]

FEWEST_FOR_OTHERS = 4
"""Sessions (or weeks) before a lift tells something about the athlete's other lifts."""


def weeks_since_best(value: Floats, margin: float = 0.0) -> Floats:
    """Weeks since a value exceeded all before it by `margin`; nan before the first."""
    best = np.full(value.shape[0], -np.inf)
    since = np.full(value.shape[0], np.nan)
    out = np.full(value.shape, np.nan)
    for w in range(value.shape[1]):
        better = value[:, w] > best + np.where(np.isfinite(best), margin, 0)
        since = np.where(better, 0.0, since + 1)
        best = np.where(better, value[:, w], best)
        out[:, w] = since
    return out


def window_slope(value: Floats, weeks: int) -> tuple[Floats, Floats]:
    """Least squares slope a week over the last `weeks` weeks, and its t value; nan below three points."""
    padded = np.concatenate([np.full((len(value), weeks - 1), np.nan), value], axis=1)
    windows = np.lib.stride_tricks.sliding_window_view(padded, weeks, axis=1)
    lines = straight_lines(np.arange(float(weeks)), windows)
    enough = lines.points >= 3
    with np.errstate(invalid="ignore"):
        # A perfect line has no error of its own: a hundredth of a percent keeps its t value finite.
        spread = np.hypot(lines.slope_se, 1e-4)
        return np.where(enough, lines.slope, np.nan), np.where(enough, lines.slope / spread, np.nan)


def mann_kendall(value: Floats, weeks: int) -> Floats:
    """Sum of signs of all pairs inside the last `weeks` weeks, later minus earlier, over its largest size."""
    signs = np.zeros(value.shape)
    pairs = np.zeros(value.shape)
    for lag in range(1, weeks):
        difference = np.sign(value[:, lag:] - value[:, :-lag])
        known = np.isfinite(difference)
        total = np.cumsum(np.where(known, difference, 0.0), axis=1)
        count = np.cumsum(known.astype(float), axis=1)
        width = weeks - lag
        total[:, width:] -= total[:, :-width].copy()
        count[:, width:] -= count[:, :-width].copy()
        signs[:, lag:] += total
        pairs[:, lag:] += count
    return np.where(pairs > 0, signs / np.maximum(pairs, 1), np.nan)


def cusum(error: Floats, allowance: float = 0.5) -> Floats:
    """One-sided cumulative sum of standardised errors below what was expected (Page 1954, Biometrika
    41:100).
    """
    out = np.zeros(error.shape)
    now = np.zeros(error.shape[0])
    for w in range(error.shape[1]):
        now = np.maximum(0.0, now - np.where(np.isfinite(error[:, w]), error[:, w] + allowance, 0.0))
        out[:, w] = now
    return out


def window_mean(value: Floats, newest: int, oldest: int) -> Floats:
    """Mean of the weeks from `oldest` to `newest` weeks ago (0 is the present week); nan without any."""
    known = np.isfinite(value)
    total = np.cumsum(np.where(known, value, 0.0), axis=1)
    count = np.cumsum(known.astype(float), axis=1)

    def back(x: Floats, by: int) -> Floats:
        shifted = np.zeros_like(x)
        shifted[:, by:] = x[:, : max(x.shape[1] - by, 0)]
        return shifted

    sums = back(total, newest) - back(total, oldest + 1)
    counts = back(count, newest) - back(count, oldest + 1)
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)


def weekly_mean(
    series: NDArray[np.intp], week: NDArray[np.intp], value: Floats, weight: Floats, shape: tuple[int, int]
) -> Floats:
    """Weighted mean of the sessions of each week, shape (series, weeks)."""
    total, weights = np.zeros(shape), np.zeros(shape)
    np.add.at(total, (series, week), value * weight)
    np.add.at(weights, (series, week), weight)
    return np.where(weights > 0, total / np.where(weights > 0, weights, 1), np.nan)


def weekly_variance(
    series: NDArray[np.intp], week: NDArray[np.intp], weight: Floats, shape: tuple[int, int]
) -> Floats:
    """Variance of each week's weighted mean: one over the sum of its precisions; nan without a session."""
    weights = np.zeros(shape)
    np.add.at(weights, (series, week), weight)
    return np.where(weights > 0, 1 / np.where(weights > 0, weights, 1), np.nan)


def weekly_best(
    series: NDArray[np.intp], week: NDArray[np.intp], value: Floats, shape: tuple[int, int]
) -> Floats:
    """Highest value of each week, shape (series, weeks); nan without a session."""
    best = np.full(shape, -np.inf)
    np.maximum.at(best, (series, week), value)
    return np.where(np.isfinite(best), best, np.nan)


def weeks_since(happened: NDArray[np.bool_]) -> Floats:
    """Weeks since the last true value in each row; counts from the first column before any."""
    week = np.broadcast_to(np.arange(happened.shape[1]), happened.shape)
    last = np.maximum.accumulate(np.where(happened, week, 0), axis=1)
    return (week - last).astype(float)
