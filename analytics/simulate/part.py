"""Part: one athlete of the demo, what it is there to show, and the finding of one who shows it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from analytics.simulate.roster import simulate_members
from analytics.simulate.style import Style
from analytics.simulate.world import LAST_DAY, Simulated, World

_ATTEMPTS, _FEW_ATTEMPTS = 150, 10
_WEEKS_TO_SHOW = 20
"""Weeks from which a log is long enough for its part; for a shorter one few seeds are tried."""


@dataclass(frozen=True, kw_only=True)
class Part:
    """One athlete of the demo: what it shows, in which world, the test that it does, the log's style."""

    id: str
    shows: str
    world: World
    style: Style
    fits: Callable[[Simulated], bool]
    kind: str = "build"


def play(part: Part, weeks: int, seed: int) -> Simulated:
    """One athlete that shows what the part is for: the first of some seeds that fits, else the last tried.

    What the log holds (reps in reserve, pounds, rest, sides) follows the style of the part.  The seeds are
    `seed` and those after it.
    """
    world = replace(
        part.world,
        rir_logging_share=0.0 if part.style.effort == "none" else 1.0,
        pounds_share=1.0 if part.style.unit == "lb" else 0.0,
        rest_logged_share=1.0 if part.style.rest else 0.0,
        sides_logged_share=1.0 if part.style.layout == "rows" else 0.0,
    )
    for attempt in range(_ATTEMPTS if weeks >= _WEEKS_TO_SHOW else _FEW_ATTEMPTS):
        simulated = simulate_members(world, range(1), weeks, seed + attempt)
        if _trained_to_the_end(simulated) and part.fits(simulated):
            break
    return simulated


def _trained_to_the_end(simulated: Simulated) -> bool:
    return (LAST_DAY - simulated.sets["date"].to_list()[-1]).days < 7
