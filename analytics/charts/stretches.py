"""Stretches: spans of days on a lift's chart: phases, calendar entries, and the answer of each week."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from analytics.charts.look import SHADES, STATES
from analytics.charts.report import Report
from analytics.trend.tables import SURE

_CALENDAR_SHADE = "#e4e0d6"
_WEEK = timedelta(days=7)
_PHONE, _LETTER, _GAP = 250, 5.6, 8
"""Pixels: how wide a chart is on a phone, a letter of a label, and what keeps two labels apart."""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """One state of a lift, as it was known at every week's end from `first` to `last`."""

    state: str
    first: date
    last: date


@dataclass(frozen=True, kw_only=True)
class Label:
    """The words of the present answer, where they stand and to which side, and how far back they reach."""

    words: str
    at: date
    side: str
    since: date


def answers(report: Report, exercise: str) -> list[Answer]:
    """What was said of the lift week by week, equal weeks together, oldest first."""
    chances = {state: f"p_{state}" for state in STATES if state != "unsure"}
    history = report.own("lift_history", exercise).sort("week_end").select("week_end", *chances.values())
    found: list[Answer] = []
    for week_end, *chance in history.iter_rows():
        best = max(zip(chance, chances, strict=True))
        state = best[1] if best[0] >= SURE else "unsure"
        if found and found[-1].state == state and week_end - found[-1].last <= _WEEK:
            found[-1] = Answer(state=state, first=found[-1].first, last=week_end)
        else:
            found.append(Answer(state=state, first=week_end, last=week_end))
    return found


def answer_words(told: list[Answer], most: int = 3) -> str:
    """The last answers as a sentence; empty where there was but one."""
    if len(told) < 2:
        return ""
    parts = [f"{STATES[one.state][2]} from {one.first:%d %b %Y}" for one in told[-most:]]
    return f"Said at the week's end: {', then '.join(parts)}."


def answer_rows(told: list[Answer], seen: tuple[date, date]) -> list[dict[str, Any]]:
    """Rows from, to, word, colour, label, day: the stretches that are seen.

    All but the present one are labelled where there is room; room is left for that one.
    """
    first, last = seen
    reach = [(max(one.first - _WEEK, first), min(one.last, last), one) for one in told]
    reach = [one for one in reach if one[1] > one[0]]
    taken = present(told, seen)
    rows: list[dict[str, Any]] = []
    for start, end, one in reach:
        free = min(end, taken.since) if taken else end
        label = "" if one is told[-1] else _label(one, _share(start, free, seen))
        colour, _, word = STATES[one.state]
        row = {"from": start, "to": end, "word": word, "colour": colour, "label": label, "day": one.first}
        rows.append(row)
    return rows


def present(answered: list[Answer], seen: tuple[date, date]) -> Label | None:
    """The label of the present answer: from its first day on, or up to now where it is too young for that."""
    if not answered or answered[-1].last <= seen[0]:
        return None
    one, (first, last) = answered[-1], seen
    start, end = max(one.first - _WEEK, first), min(one.last, last)
    told = _label(one, 1)
    if _share(start, last, seen) >= _needed(told):
        return Label(words=told, at=start, side="left", since=start)
    reach = timedelta(days=round(_needed(told) * (last - first).days))
    return Label(words=told, at=end, side="right", since=max(first, end - reach))


def _share(start: date, end: date, seen: tuple[date, date]) -> float:
    return (end - start).days / max((seen[1] - seen[0]).days, 1)


def _label(one: Answer, room: float) -> str:
    """The longest words that fit into this share of the chart's width: the state with its day, or without."""
    word = STATES[one.state][2]
    return next((text for text in (f"{word}, {one.first:%d %b}", word) if _needed(text) <= room), "")


def _needed(text: str) -> float:
    return (_LETTER * len(text) + _GAP) / _PHONE


def phase_rows(report: Report, seen: tuple[date, date]) -> list[dict[str, Any]]:
    """Rows from, to, word, colour: phases of the plan."""
    starts = report["phases"].sort("from").select("from", "name").rows()
    ends = [*(start for start, _ in starts[1:]), seen[1]]
    phases = [(start, end, name) for (start, name), end in zip(starts, ends, strict=False)]
    return _inside(phases, seen, SHADES)


def calendar_rows(report: Report, seen: tuple[date, date]) -> list[dict[str, Any]]:
    """Rows from, to, word, colour: entries of the calendar, last days included."""
    entries = report["calendar"].select("from", "to", "kind").rows()
    days = [(start, end + timedelta(days=1), kind) for start, end, kind in entries]
    return _inside(days, seen, {})


def _inside(
    stretches: list[tuple[date, date, str]], seen: tuple[date, date], colours: Mapping[str, str]
) -> list[dict[str, Any]]:
    """The parts of the stretches that are seen, each with its word and colour."""
    first, last = seen
    return [
        {
            "from": max(start, first),
            "to": min(end, last),
            "word": word,
            "colour": colours.get(word, _CALENDAR_SHADE),
        }
        for start, end, word in stretches
        if end > first and start < last
    ]
