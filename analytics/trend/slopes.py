"""Slopes: mean and quantiles of the weekly rate from regime probabilities, on arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analytics.trend.regimes import Regimes

Floats = NDArray[np.float64]


def times(rows: Floats, matrix: Floats) -> Floats:
    """Rows times a matrix (or vector), without a library that sums in an order of its own.

    A row's result does not depend on how many other rows there are, to the last bit.
    """
    if matrix.ndim == 1:
        return np.asarray(np.einsum("...j,j->...", rows, matrix))
    return np.asarray(np.einsum("...j,kj->...k", rows, np.ascontiguousarray(matrix.T)))


def slope_mean(regime: Floats, regimes: Regimes) -> Floats:
    """Mean weekly rate of log-strength; the last axis of `regime` runs over regimes."""
    return times(regime, regimes.slope)


def slope_var(regime: Floats, regimes: Regimes) -> Floats:
    """Variance of the weekly rate."""
    return times(regime, regimes.slope**2) - slope_mean(regime, regimes) ** 2


def slope_quantile(regime: Floats, regimes: Regimes, level: float) -> Floats:
    """Quantile of the weekly rate, each regime spread evenly between the midpoints to its neighbours.

    `regime` has shape (rows, regimes), slopes rise.
    """
    slope = regimes.slope
    middle = (slope[1:] + slope[:-1]) / 2
    edges = np.concatenate([[2 * slope[0] - middle[0]], middle, [2 * slope[-1] - middle[-1]]])
    below = np.concatenate([np.zeros((len(regime), 1)), np.cumsum(regime, axis=1)], axis=1)
    below /= below[:, -1:]
    cell = np.clip((below < level).sum(axis=1) - 1, 0, len(slope) - 1)
    row = np.arange(len(regime))
    start, end = below[row, cell], below[row, cell + 1]
    share = np.clip((level - start) / np.maximum(end - start, 1e-12), 0, 1)
    return np.asarray(edges[cell] + share * (edges[cell + 1] - edges[cell]))
