"""Intervals: what an interval has to hold besides the filter's own uncertainty, on arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analytics.trend.model import Model

Floats = NDArray[np.float64]

Z80 = 1.2816
"""Half-width of an 80 % interval in standard deviations."""

CURVE_SHAPE_SD = 0.15
"""Error of the published curve's shape, as a share of what the curve adds: it differs between exercises
(leg press above bench at every load: Nuzzo et al. 2024) and never averages out.
"""
UNLOGGED_REPS, LOGGED_REPS = 1.5, 0.95
"""Lasting error of effort in repetitions: where nothing is logged, common practice, no source; where it
is, the mean error of 0.95 (Halperin et al. 2022).
"""
LOG_STRENGTH_PER_REP = 0.026
"""One repetition at eight to twelve to failure, by every formula about 2.5 %."""


def lasting_sd(exposure: Floats, unlogged: Floats) -> Floats:
    """Standard deviation of the error of log-strength that is the same every week.

    It moves the kilograms, not the trend: slopes and their intervals are free of it.
    """
    reps = unlogged * UNLOGGED_REPS + (1 - unlogged) * LOGGED_REPS
    return np.hypot(CURVE_SHAPE_SD * exposure, LOG_STRENGTH_PER_REP * reps)


def change_sd(slope_sd: Floats, weeks: float, model: Model) -> Floats:
    """Standard deviation of the change of log-strength over the next `weeks` weeks."""
    return np.sqrt((weeks * slope_sd) ** 2 + weeks * model.level_var_per_week)
