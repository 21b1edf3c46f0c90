"""Slopes: mean and variance of the weekly rate from regime probabilities, on arrays."""

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
