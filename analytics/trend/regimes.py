"""Slope regimes: a grid of weekly rates of log-strength, their prior, and how often one gives way to another.

The grid is fixed before any data is seen, so that a lift's answer depends on its own athlete alone.
Published rates it covers: 0.06-0.11 % a week in professional rugby (Appleby et al. 2012), 0.20 and 0.29 % in
powerlifters (Latella et al. 2020), about 0.5-1 % over a novice's first year (Steele et al. 2022).  How often
lifts stall is common practice, no source; checked on simulated worlds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CLASSES = ("progressing", "stalled", "regressing")
PROGRESSING, STALLED, REGRESSING = range(3)


@dataclass(frozen=True)
class Regimes:
    """Shapes (regimes,) and (regimes, regimes).

    `slope` is a weekly rate of log-strength, `kind` indexes CLASSES, `prior` is the state of a lift never
    seen before, `leave_per_week` the rate at which each regime ends, and row i of `enter` what follows regime
    i.
    """

    slope: Floats
    kind: NDArray[np.intp]
    prior: Floats
    leave_per_week: Floats
    enter: Floats

    def of_class(self) -> Floats:
        """Indicator matrix, shape (regimes, 3)."""
        return np.eye(3)[self.kind]


_PROGRESS = np.array([0.08, 0.14, 0.23, 0.36, 0.56, 0.90, 1.50]) / 100
_STALL = np.array([0.0])
_REGRESS = np.array([-1.20, -0.50, -0.20]) / 100

_START = (0.94, 0.05, 0.01)
_MEDIAN_PROGRESS, _PROGRESS_SPREAD = 0.0030, 0.85
_MEDIAN_REGRESS, _REGRESS_SPREAD = 0.0040, 0.7
_PER_WEEK = np.array(
    [
        [0.010, 0.045, 0.015],
        [0.040, 0.000, 0.006],
        [0.040, 0.030, 0.010],
    ]
)
"""Rates a week between classes (rows: from); the diagonal is a change of slope within the class."""
_NEIGHBOUR_SPREAD = 0.6
"""A change of slope within a class moves by about this much in log-slope."""


def _shape(slopes: Floats, median: float, spread: float) -> Floats:
    weight = np.exp(-0.5 * (np.log(np.abs(slopes) / median) / spread) ** 2)
    return np.asarray(weight / weight.sum())


def default_regimes(per_week: Floats = _PER_WEEK, start: tuple[float, float, float] = _START) -> Regimes:
    """The regimes every lift is filtered with, sorted by slope."""
    slope = np.concatenate([_REGRESS, _STALL, _PROGRESS])
    kind = np.repeat([REGRESSING, STALLED, PROGRESSING], [len(_REGRESS), len(_STALL), len(_PROGRESS)])
    within = np.concatenate(
        [
            _shape(_REGRESS, _MEDIAN_REGRESS, _REGRESS_SPREAD),
            np.full(len(_STALL), 1 / len(_STALL)),
            _shape(_PROGRESS, _MEDIAN_PROGRESS, _PROGRESS_SPREAD),
        ]
    )
    rate = np.zeros((len(slope), len(slope)))
    for i in range(len(slope)):
        for to in range(3):
            target = np.where(kind == to, within, 0)
            if to == kind[i]:
                others = (kind == to) & (np.arange(len(slope)) != i)
                target = np.zeros(len(slope))
                target[others] = _nearness(slope[others], slope[i])
            if target.any():
                rate[i] += per_week[kind[i], to] * target / target.sum()
    leave = rate.sum(axis=1)
    return Regimes(
        slope=slope,
        kind=kind,
        prior=np.asarray(start)[kind] * within,
        leave_per_week=leave,
        enter=rate / leave[:, None],
    )


def _nearness(slopes: Floats, to: float) -> Floats:
    return np.asarray(np.exp(-0.5 * (np.log(np.abs(slopes / to)) / _NEIGHBOUR_SPREAD) ** 2))
