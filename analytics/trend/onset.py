"""Onset: when the present state began, by one backward pass over the regime probabilities, on arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analytics.trend.filter import switched
from analytics.trend.regimes import PROGRESSING, Regimes
from analytics.trend.slopes import times

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


PACE = 0.5
"""The filter lets regimes change quicker than lifts do, so that it notices; looking back, half its rates
are used. Chosen on simulated rosters, where it leaves the told onset neither early nor late on the whole.
"""


def onset_survival(regime: Floats, weeks: Floats, regimes: Regimes, kind: NDArray[np.intp]) -> Floats:
    """Probability that the lift has been in class `kind` at every checkpoint since, shape (series,
    checkpoints).

    `regime` are filtered probabilities (series, checkpoints, regimes), nan before the first session; `weeks`
    the gaps between checkpoints, shape (checkpoints - 1,); `kind` the class each series is in at the end.
    """
    count = regime.shape[1]
    inside = regimes.kind[None, :] == kind[:, None]
    alive = np.where(inside, regime[:, -1], 0)
    survival = np.zeros(regime.shape[:2])
    survival[:, -1] = 1
    alive /= np.maximum(alive.sum(axis=1, keepdims=True), 1e-300)
    for t in range(count - 2, -1, -1):
        now = regime[:, t]
        valid = np.isfinite(now[:, 0])
        chance = np.where(valid[:, None], now, 1.0 / now.shape[1])
        step = np.full(len(regime), PACE * weeks[t])
        after, stayed, left = switched(chance, step, regimes)
        share = alive / after
        alive = np.where(inside, stayed * share + left * times(share, regimes.enter.T), 0)
        alive = np.where(valid[:, None], alive, 0)
        survival[:, t] = alive.sum(axis=1)
    return survival


def present_state(
    regime: Floats, checkpoints: Ints, first_day: Ints, regimes: Regimes, weeks_since: Floats
) -> tuple[Ints, Floats, Ints]:
    """Most probable class at the last checkpoint, its probability, and the day since which it has held.

    `regime` has shape (groups, checkpoints, regimes); days count from 1970-01-01; each array out has
    shape (groups,). A state that held at the first checkpoint of a lift began with its first session.  For a
    lift that left progress it lies at the geometric mean of `weeks_since` (groups,) ago, which the correction
    learned, and of what the backward pass says: the one is mostly early, the other mostly late.
    """
    chance = times(regime[:, -1], regimes.of_class())
    best = chance.argmax(axis=1)
    survival = onset_survival(regime, np.diff(checkpoints) / 7, regimes, best)
    column = onset_column(survival)
    began = np.maximum(checkpoints[np.maximum(column - 1, 0)], first_day)
    began = np.where(checkpoints[column] - first_day < 7, first_day, began)
    told = (best != PROGRESSING) & np.isfinite(weeks_since)
    learned = 7 * np.where(told, weeks_since, 0.0)
    ago = np.sqrt(np.maximum(learned, 1) * np.maximum(checkpoints[-1] - began, 1)).astype(np.intp)
    began = np.where(told, np.maximum(checkpoints[-1] - ago, first_day), began)
    return best, chance[np.arange(len(chance)), best], began


def onset_column(survival: Floats, level: float = 0.5) -> NDArray[np.intp]:
    """First checkpoint since which the state has more likely than not held, shape (series,)."""
    return np.argmax(survival >= level, axis=1)
