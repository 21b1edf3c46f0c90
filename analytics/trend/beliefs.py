"""Beliefs: the sessions that the regime filter sees, and what it believes while it passes over them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class Observations:
    """Sessions sorted by day, then athlete, then group, then series; all arrays have shape (sessions,).

    `series` and `group` index the lifts and the families of regimes they share, `family` the athlete's
    movement families, out of which a new group inherits; `day` counts days.  `value`
    is the log of the estimated maximum, `noise` its standard error drawn anew each time, `exposure` its
    change per unit of the personal curve, `unlogged` the share of evidence without RIR, `light` the prior
    probability of a session that was easy on purpose, `idle_days` the days since the athlete's last session
    of this series on which the athlete did not train at all, beyond one week each time.
    """

    series: Ints
    group: Ints
    family: Ints
    athlete: Ints
    day: Ints
    value: Floats
    noise: Floats
    exposure: Floats
    unlogged: Floats
    light: Floats
    idle_days: Floats


@dataclass
class Beliefs:
    """Mutable state of the pass: means (3, series, regimes), covariances (6, series, regimes),
    probabilities.
    """

    mean: Floats
    cov: Floats
    regime: Floats
    series_day: Ints
    group_day: Ints
    noise_weight: Floats
    noise_sum: Floats
    heir_of: Ints
    """By family: the group a new one inherits from, or -1."""
    parent: Ints = field(init=False)
    sessions: Ints = field(init=False)
    seen: NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        self.seen = np.zeros(len(self.series_day), dtype=bool)
        self.parent = np.full(len(self.group_day), -1, dtype=np.intp)
        self.sessions = np.zeros(len(self.group_day), dtype=np.intp)
