"""Phases: what is known each week of an athlete's plan, as arrays; held strength in a diet is no progress."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.trend.series import days_of

Floats = NDArray[np.float64]

DIETS = ("cut", "peak")
LONGEST_WEEKS = 52.0


@dataclass(frozen=True, kw_only=True)
class Plans:
    """Shapes (athletes, checkpoints): whether a phase is known, whether it is a diet, for how many weeks the
    athlete has dieted (0 outside) and how many weeks ago a diet ended (52 without one).
    """

    known: Floats
    diet: Floats
    weeks_in: Floats
    weeks_after: Floats


def plans_at(phases: pl.DataFrame, athletes: pl.Series, checkpoints: NDArray[np.intp]) -> Plans:
    """Plans of `athletes` (sorted ids) at each checkpoint, from phases that have begun by then.

    `phases` has columns athlete, name, from; a phase lasts until the next one of its athlete.
    """
    shape = (len(athletes), len(checkpoints))
    found = Plans(
        known=np.zeros(shape),
        diet=np.zeros(shape),
        weeks_in=np.zeros(shape),
        weeks_after=np.full(shape, LONGEST_WEEKS),
    )
    for (athlete,), own in phases.sort("athlete", "from").group_by("athlete", maintain_order=True):
        row = int(athletes.index_of(athlete) or 0)
        begin = days_of(own["from"])
        diet = own["name"].is_in(DIETS).to_numpy()
        phase = np.searchsorted(begin, checkpoints, side="right") - 1
        began = np.flatnonzero(diet & ~np.r_[False, diet[:-1]])
        ended = np.flatnonzero(~diet & np.r_[False, diet[:-1]])
        found.known[row] = phase >= 0
        found.diet[row] = (phase >= 0) & diet[np.maximum(phase, 0)]
        last = _weeks_since(begin[began], checkpoints)
        found.weeks_in[row] = np.where(found.diet[row] > 0, last, 0.0)
        out = np.where(found.diet[row] > 0, LONGEST_WEEKS, _weeks_since(begin[ended], checkpoints))
        found.weeks_after[row] = out
    return found


def _weeks_since(days: NDArray[np.intp], checkpoints: NDArray[np.intp]) -> Floats:
    """Weeks since the last of `days`; the longest before the first."""
    place = np.searchsorted(days, checkpoints, side="right") - 1
    if not len(days):
        return np.full(len(checkpoints), LONGEST_WEEKS)
    weeks = (checkpoints - days[np.maximum(place, 0)]) / 7
    return np.where(place >= 0, np.minimum(weeks, LONGEST_WEEKS), LONGEST_WEEKS)
