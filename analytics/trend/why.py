"""Why: one plain sentence per lift or family, with the numbers behind its state."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from analytics.trend.certainty import MOST_WEEKS, TYPICAL_SLOPE


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


_VERB = {"progressing": "progressing", "stalled": "stalled", "regressing": "losing strength"}


def sentence(seen: Evidence) -> str:
    """The sentence; numbers are rounded for reading."""
    counted = f"{_count(seen.sessions, 'session')} over {_count(max(1, round(seen.weeks)), 'week')}"
    show = "shows" if seen.sessions == 1 else "show"
    interval = f"80 %: {seen.slope_low:+.2f} to {seen.slope_high:+.2f}"
    base = f"{counted} {show} {seen.slope:+.2f} % a week ({interval})"
    if seen.state != "unsure":
        chance = dict(zip(("progressing", "stalled", "regressing"), seen.chances, strict=True))[seen.state]
        since = (
            f" since about {seen.since.day} {seen.since:%b %Y}"
            if seen.since and seen.state != "progressing"
            else ""
        )
        text = f"{base}: {_VERB[seen.state]}{since} with probability {chance:.2f}"
    else:
        first, second, third = seen.chances
        text = f"{base}; progressing {first:.2f}, stalled {second:.2f}, losing {third:.2f}: too early to call"
        more = seen.weeks_to_tell - round(seen.weeks)
        if seen.weeks_to_tell >= MOST_WEEKS:
            text += ", and at this rate of sessions it may stay open"
        elif more >= 1:
            text += f", about {_count(more, 'more week')} of sessions would tell"
        else:
            text += f"; such sessions need about {seen.weeks_to_tell} weeks in one state to tell it from none"
    saved = seen.weeks_to_tell - seen.weeks_to_tell_with_rir
    if seen.rir_share < 0.5 and saved >= 1:
        clear = max(abs(seen.slope), 100 * TYPICAL_SLOPE)
        text += (
            f"; with RIR logged {clear:.2f} % a week stands clear after {seen.weeks_to_tell_with_rir} weeks"
        )
        text += f" instead of {seen.weeks_to_tell}"
    if seen.idle_weeks >= 3:
        text += f"; last trained {round(seen.idle_weeks)} weeks ago"
    return text + "."


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"
