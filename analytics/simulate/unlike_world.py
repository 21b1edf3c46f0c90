"""Unlike world: the parameters of one world that is built otherwise than the default one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.simulate.unlike_course import FLAT_PER_WEEK

Floats = NDArray[np.float64]
Rng = np.random.Generator

LIFTS_EACH = 6


@dataclass(frozen=True, kw_only=True)
class Unlike:
    """One unlike world.

    `slopes(rng, lifts in all, weeks)` gives weekly slopes; `scheme` how loads and reps are chosen: "template"
    (fixed reps, load goes up after every success), "waves" (12, 8, 5 in turn), "top_set" (heavy set and
    back-offs), "by_feel" (load and reps vary from day to day), "range" (reps fill a range, then load).
    `effort`: "steady", "blocks" (reserve shrinks over a block, then a light week) or "drifting".  Noise in
    log strength; `tail` are degrees of freedom.
    """

    slopes: Callable[[Rng, int, int], Floats]
    scheme: str
    effort: str = "steady"
    rir_logged: float = 0.5
    day_sd: float = 0.02
    lift_sd: float = 0.025
    tail: float = 60.0
    curve_power: float = 1.0
    curve_sd: float = 0.2
    flat: float = FLAT_PER_WEEK
    layoffs: float = 0.3
    reserve: tuple[float, float] = (0.0, 4.0)
