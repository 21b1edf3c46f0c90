"""Why: one plain sentence per lift or family, with the numbers behind its state."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from analytics.trend.certainty import MOST_WEEKS, TYPICAL_SLOPE
from analytics.wording import signed


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """Numbers of one lift or family; slopes in % a week, probabilities of the three classes in order."""

    state: str
    sessions: int
    weeks: float
    slope: float
    slope_low: float
    slope_high: float
    chances: tuple[float, float, float]
    since: date | None
    idle_weeks: float
    weeks_to_tell: int
    weeks_to_tell_with_rir: int
    rir_share: float


_CLASSES = ("progressing", "stalled", "regressing")


def sentence(seen: Evidence) -> str:
    """The sentence; numbers are rounded for reading."""
    counted = f"{_count(seen.sessions, 'session')} over {_count(max(1, round(seen.weeks)), 'week')}"
    interval = f"80 %: {signed(seen.slope_low)} to {signed(seen.slope_high)}"
    base = f"{counted}, {signed(seen.slope)} % a week ({interval})"
    if seen.state == "unsure":
        chances = ", ".join(
            f"{name} {chance:.2f}" for name, chance in zip(_CLASSES, seen.chances, strict=True)
        )
        text = f"{base}: no sure call ({chances}); {_outlook(seen)}"
    else:
        chance = seen.chances[_CLASSES.index(seen.state)]
        told = seen.since is not None and seen.state != "progressing"
        since = f" since about {seen.since.day} {seen.since:%b %Y}" if told and seen.since else ""
        text = f"{base}: {seen.state}{since} with probability {chance:.2f}"
    saved = seen.weeks_to_tell - seen.weeks_to_tell_with_rir
    if seen.state == "unsure" and seen.rir_share < 0.5 and saved >= 1:
        clear = max(abs(seen.slope), 100 * TYPICAL_SLOPE)
        weeks = f"{seen.weeks_to_tell_with_rir} weeks instead of {seen.weeks_to_tell}"
        text += f"; with RIR on every set {weeks} would do for {clear:.2f} % a week"
    if seen.idle_weeks >= 3:
        text += f"; last trained {round(seen.idle_weeks)} weeks ago"
    return text + "."


def _outlook(seen: Evidence) -> str:
    """How far the answer is: weeks still needed, or that the rate is too near to zero to name."""
    more = seen.weeks_to_tell - round(seen.weeks)
    if seen.weeks_to_tell >= MOST_WEEKS:
        return "with so few sessions it may stay open"
    if more >= 1:
        return f"about {_count(more, 'more week')} of such sessions would tell"
    return "weeks enough, but the rate is too near to zero to name"


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
