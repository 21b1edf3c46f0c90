"""Diary: dated lines of plain shorthand without any header, as typed on a phone, to text fields."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from analytics.intake.cells.dates import read_moment
from analytics.intake.cells.dayline import (
    names_other_day,
    opening_day,
    read_day_line,
    split_day,
    tells_how_it_went,
)
from analytics.intake.cells.loads import BODY
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.shorthand import reads_as_sets
from analytics.intake.cells.units import UNIT
from analytics.intake.cells.words import parse_role

_NAMED = re.compile(
    rf"\s*([^\W\d_].{{1,60}}?)\s*(?:[:;,|]|\s[-–]\s|\s)\s*((?:w |(?:{BODY})(?:\b|(?=x\s?\d))|[+-]?\d).*)",
    re.IGNORECASE,
)
_LABELLED = re.compile(r"\s*([^\W\d_][^:\d]{1,60}?)\s*:\s*(\S.*)")
_LABEL = re.compile(r"(?:date|datum|fecha|data)\s*[:=]\s*", re.IGNORECASE)
_BULLET = re.compile(r"^(?:[-*•·–]|\d{1,2}[.)])\s+(?=[^\W\d_])")
_STARTS = re.compile(rf"(?:w |(?:{BODY})(?:\b|(?=x\s?\d))|[+-]?\d)")
_PAIRED = re.compile(r"\d\s*(?:[a-z#]{0,3}\s*)?[x@]|[x@]\s*\d")
_LOADED = re.compile(rf"\d\s*(?:{UNIT})\b")
_COUNTED = re.compile(r"\d[\d.]*(?:[\s,/]+\d[\d.]*)+")
_HELD = re.compile(r"\d\s*(?:s|secs?|sek|seg|min)\b|\b\d{1,2}:\d{2}\b")


def read_diary(lines: Sequence[tuple[int, str]], is_remark: Callable[[str], bool]) -> list[dict[str, object]]:
    """One dictionary of `row, date, session, exercise, work` per line of sets; empty where it is no diary.

    A line that tells a date opens a day, even if a set follows in it; a line of words names the exercise;
    a line of sets such as ``100 x 5`` or ``Squat: 3x5 @ 100 kg`` counts.  A line that looks like sets but
    cannot be read is told later, and one that says how it went is a remark.
    """
    day: str | None = None
    session: str | None = None
    exercise: str | None = None
    rows: list[dict[str, object]] = []
    read = 0
    apart = True
    for line, text in lines:
        text = _BULLET.sub("", text.strip(" ;,|\t"))
        begins, apart = apart, not text
        if not text or is_remark(text):
            continue
        if (told := _day(_LABEL.sub("", text))) is not None:
            (day, session), exercise = told, None
            continue
        if tells_how_it_went(text):
            continue
        if (opened := split_day(text)) and _named(opened[1])[1]:
            (day, text), session, exercise = opened, None, None
        if (begins or any(c.isalpha() for c in text)) and names_other_day(text, day):
            day, session, exercise = text, None, None
            continue
        if begun := opening_day(text):
            day, session, exercise = begun[0], None, None
            rows.append(
                {"row": line, "date": day, "session": None, "exercise": None, "work": begun[1] or text}
            )
            continue
        name, work = _named(text)
        if work is None and _PAIRED.search(tidy(text)):
            rows.append({"row": line, "date": day, "session": session, "exercise": text[:60], "work": text})
        if work is None and len(text) <= 60:
            exercise = text
        elif work is not None:
            exercise = name or exercise
            read += reads_as_sets(work) and not _COUNTED.fullmatch(tidy(work))
            rows.append({"row": line, "date": day, "session": session, "exercise": exercise, "work": work})
    return (
        rows
        if read and read >= 0.5 * len(rows) and any(row["date"] and row["exercise"] for row in rows)
        else []
    )


def _day(text: str) -> tuple[str, str | None] | None:
    """(day, other words) of a line that opens a day."""
    if read_moment(text).problem is None:
        return None if re.fullmatch(r"\d{1,5}", text) else (text, None)
    return read_day_line(text)


def _named(text: str) -> tuple[str | None, str | None]:
    """(exercise, sets) of a line; no exercise where it only holds sets, no sets where it only names."""
    if _looks_like_sets(text):
        return None, text
    if (found := _LABELLED.fullmatch(text)) and _PAIRED.search(tidy(found[2])):
        return found[1], found[2]
    found = _NAMED.fullmatch(text)
    if not found or not _looks_like_sets(found[2]):
        return None, None
    if parse_role(found[1])[0]:
        return None, text
    return found[1], found[2]


def _looks_like_sets(text: str) -> bool:
    words = tidy(text)
    if not _STARTS.match(words):
        return False
    if _PAIRED.search(words) or _LOADED.search(words) or _COUNTED.fullmatch(words):
        return True
    return bool(_HELD.search(words)) and reads_as_sets(text)
