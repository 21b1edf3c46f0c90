"""Kinks: how much better a rise that ended some weeks ago explains each lift than a straight line, on arrays.

For every week the last stretch is fitted by least squares with the same number of parameters by a straight
line, and by a line that turns level a given number of weeks ago (a broken line with a known join: Hinkley
1969, Biometrika 56:495-504).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.trend.slopes import times

Floats = NDArray[np.float64]

STRETCH = 30
TURNS = np.array([1.0, 2, 3, 4, 5, 6, 8, 10, 12, 14, 17, 20])
"""Weeks since the rise ended that are tried."""
LEAST_VAR = 1e-8


@dataclass(frozen=True, kw_only=True)
class Kinks:
    """Shape (series, weeks); nan without enough weeks.  `odds`: log of the mean likelihood of the turns over
    that of the line; `turn`: weeks since the turn, by likelihood; `rise`: the slope before the best turn.
    """

    odds: Floats
    turn: Floats
    rise: Floats


def find_kinks(value: Floats, variance: Floats) -> Kinks:
    """`value` weekly log-strength (series, weeks) with nan where none, `variance` of each week's mean."""
    known = np.isfinite(value) & np.isfinite(variance)
    first = np.argmax(known, axis=1)
    origin = value[np.arange(len(value)), first]
    y = np.where(known, value - np.where(np.isfinite(origin), origin, 0.0)[:, None], 0.0)
    weight = np.where(known, 1 / np.maximum(np.where(known, variance, 1.0), LEAST_VAR), 0.0)
    lag = np.arange(STRETCH - 1, -1, -1.0)
    # Columns: the straight line first, then one per turn.
    shapes = np.column_stack([-lag, *[np.minimum(turn - lag, 0.0) for turn in TURNS]])

    def over(values: Floats, kernel: Floats) -> Floats:
        padded = np.concatenate([np.zeros((len(values), STRETCH - 1)), values], axis=1)
        return times(np.lib.stride_tricks.sliding_window_view(padded, STRETCH, axis=1), kernel)

    one = np.ones((STRETCH, 1))
    w, wy, n = over(weight, one), over(weight * y, one), over(known.astype(float), one)
    wyy = over(weight * y * y, one)
    wx, wxx, wxy = over(weight, shapes), over(weight, shapes**2), over(weight * y, shapes)
    safe = np.maximum(w, 1e-300)
    sxx = wxx - wx**2 / safe
    sxy = wxy - wx * wy / safe
    flat = sxx <= 1e-9 * np.maximum(wxx, 1e-300)
    gain = np.where(flat, 0.0, sxy**2 / np.where(flat, 1.0, sxx))
    # Misfit beyond the stated noise widens it: a turn is no clearer than the line's own scatter allows.
    scatter = np.maximum(wyy - wy**2 / safe - gain.max(axis=2, keepdims=True), 0) / np.maximum(n - 2, 1)
    score = 0.5 * gain / np.maximum(scatter, 0.5)
    turns = score[..., 1:]
    top = turns.max(axis=2, keepdims=True)
    chance = np.exp(turns - top)
    total = chance.sum(axis=2)
    enough = n[..., 0] >= 4
    best = np.argmax(turns, axis=2)[..., None] + 1
    slope = np.take_along_axis(np.where(flat, 0.0, sxy / np.where(flat, 1.0, sxx)), best, axis=2)[..., 0]
    return Kinks(
        odds=np.where(enough, top[..., 0] + np.log(total / len(TURNS)) - score[..., 0], np.nan),
        turn=np.where(enough, times(chance, TURNS) / total, np.nan),
        rise=np.where(enough, slope, np.nan),
    )
