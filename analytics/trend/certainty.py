"""Certainty: how many weeks until a slope could be told from none, with and without RIR, on arrays.

The standard error of a weekly slope over n weeks with one value a week of standard deviation s is
s * sqrt(12 / (n (n^2 - 1))): ordinary least squares on equal steps.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analytics.trend.model import Model

Floats = NDArray[np.float64]

MOST_WEEKS = 104
TYPICAL_SLOPE = 0.0025
"""Log-strength a week: trained lifters gain 0.1-0.3 % (Latella et al. 2020)."""
CONFIDENCE_Z = 1.2816
"""Nine times in ten on the right side."""


def slope_se(weeks: Floats, weekly_sd: Floats) -> Floats:
    """Standard error of a weekly slope over this many weeks, in the unit of `weekly_sd`."""
    n = np.asarray(weeks, dtype=float)
    return np.asarray(weekly_sd * np.sqrt(12 / (n * (n**2 - 1))))


def weekly_sd(noise: Floats, noise_scale: Floats, unlogged: Floats, per_week: Floats, model: Model) -> Floats:
    """Standard deviation of one week's mean, effort that lasts for weeks counted as long as it lasts."""
    fresh = noise**2 + noise_scale * model.own_sd**2 + model.day_sd**2 / 2
    keep = np.exp(-1 / model.departure_weeks)
    lasting = model.departure_var(unlogged) * (1 + keep) / (1 - keep)
    return np.asarray(np.sqrt(fresh / np.maximum(per_week, 0.2) + lasting))


def weeks_to_tell(slope: Floats, sd: Floats) -> NDArray[np.intp]:
    """Whole weeks of data until `slope` (at least the typical one) stands clear of none; at most 104."""
    weeks = np.arange(3.0, MOST_WEEKS + 1)
    clear = np.maximum(np.abs(slope), TYPICAL_SLOPE)[:, None] >= CONFIDENCE_Z * slope_se(weeks, sd[:, None])
    return np.where(clear.any(axis=1), weeks[np.argmax(clear, axis=1)], MOST_WEEKS).astype(np.intp)
