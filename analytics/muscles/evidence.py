"""Evidence: what a lift's sessions say on their own, got back from a posterior and its prior.

The trend of a lift is a posterior: its prior has already drawn it in.  Pooling such slopes would draw them in
a second time, so the prior is divided out first.  The likelihood is taken as normal; its two parameters are
those for which prior x likelihood has the posterior's mean and variance (exponential tilting).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from scipy.linalg import expm

from analytics.muscles.mixed import Array
from analytics.trend.regimes import default_regimes

_GRID = np.arange(-4.0, 5.0001, 0.05)
_AGE_WEEKS = 26.0
"""Age of a typical lift: by then stalls have become as common as the trend's rates say."""
_LEAST_SD, _MOST_SD = 0.05, 1.5
"""% a week: finer than the grid, or nothing known."""
_STEPS, _CLOSE, _CHUNK = 40, 1e-9, 2048


@cache
def slope_prior() -> Array:
    """Weight of each slope of the grid in the trend's own prior, smoothed between its regimes."""
    regimes = default_regimes()
    flow = regimes.leave_per_week[:, None] * regimes.enter
    flow = flow - np.diag(flow.sum(axis=1))
    mix = regimes.prior @ expm(flow * _AGE_WEEKS)
    slope = 100 * regimes.slope
    width = 0.05 + 0.2 * np.abs(slope)
    bumps = np.exp(-0.5 * ((_GRID[:, None] - slope) / width) ** 2) / width
    weight = bumps @ mix + 1e-9
    return np.asarray(weight / weight.sum())


def without_prior(mean: Array, sd: Array) -> tuple[Array, Array]:
    """Slope and standard error, % a week, that the sessions alone support; `mean`, `sd` (n,): posterior."""
    parts = [
        _divide(mean[at : at + _CHUNK], np.clip(sd[at : at + _CHUNK], _LEAST_SD, _MOST_SD))
        for at in range(0, len(mean), _CHUNK)
    ]
    if not parts:
        return mean, sd
    return np.concatenate([part[0] for part in parts]), np.concatenate([part[1] for part in parts])


def _divide(mean: Array, sd: Array) -> tuple[Array, Array]:
    """Newton's method for the two natural parameters of a normal likelihood."""
    powers = _GRID ** np.arange(1, 5)[:, None]
    log_prior = np.log(slope_prior())
    inside = np.clip(mean, _GRID[2], _GRID[-3])
    wanted = np.stack([inside, inside**2 + sd**2], axis=1)
    least, most = -0.5 / _LEAST_SD**2, -0.5 / _MOST_SD**2
    natural = np.stack([inside / sd**2, -0.5 / sd**2], axis=1)
    going = np.arange(len(mean))
    for _ in range(_STEPS):
        log_weight = log_prior + natural[going, :1] * powers[0] + natural[going, 1:] * powers[1]
        weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
        # Sums row by row, not a matrix product: a lift's answer must not depend on how many others there are.
        moments = (weight[:, None, :] * powers).sum(axis=2) / weight.sum(axis=1, keepdims=True)
        gap = wanted[going] - moments[:, :2]
        far = np.abs(gap).max(axis=1) >= _CLOSE
        going, gap, moments = going[far], gap[far], moments[far]
        if not len(going):
            break
        first, second = moments[:, 0], moments[:, 1]
        a, b, c = second - first**2, moments[:, 2] - first * second, moments[:, 3] - second**2
        spread = np.maximum(a * c - b**2, 1e-14)
        step = np.stack([c * gap[:, 0] - b * gap[:, 1], a * gap[:, 1] - b * gap[:, 0]], axis=1)
        step = step / spread[:, None]
        limit = np.abs(step) / (1.0 + 0.5 * np.abs(natural[going]))
        natural[going] += step / np.maximum(1.0, limit).max(axis=1, keepdims=True)
        natural[going, 1] = np.clip(natural[going, 1], least, most)
    error = np.sqrt(-0.5 / natural[:, 1])
    return np.clip(natural[:, 0] * error**2, 2 * _GRID[0], 2 * _GRID[-1]), error
