"""Diary: dated lines of plain shorthand without any header, as typed on a phone, to text fields."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from analytics.intake.dates import read_moment
from analytics.intake.numbers import tidy
from analytics.intake.shorthand import parse_work

_NAMED = re.compile(r"\s*([^\W\d_].{1,60}?)\s*(?:[:;,|]|\s[-–]\s|\s)\s*((?:w |bw|\d).*)", re.IGNORECASE)
_LABEL = re.compile(r"(?:date|datum|fecha|data)\s*[:=]\s*", re.IGNORECASE)


def read_diary(lines: Sequence[tuple[int, str]], is_remark: Callable[[str], bool]) -> list[dict[str, object]]:
    """One dictionary of `row, date, exercise, work` per line of sets; empty where the text is no diary.

    A line that is a date opens a day, a line of words names the exercise, and a line of sets such as ``100
    x 5`` or ``Squat: 3x5 @ 100 kg`` counts.  A line that looks like sets but cannot be read is told later.
    """
    day: str | None = None
    exercise: str | None = None
    rows: list[dict[str, object]] = []
    read = 0
    for line, text in lines:
        text = text.strip(" ;,|\t")
        if not text or is_remark(text):
            continue
        dated = _LABEL.sub("", text)
        if read_moment(dated).problem is None and not re.fullmatch(r"\d{1,5}", text):
            day, exercise = dated, None
            continue
        named = _NAMED.fullmatch(text)
        if _looks_like_sets(text):
            read += _readable(text)
            rows.append({"row": line, "date": day, "exercise": exercise, "work": text})
        elif named and _looks_like_sets(named[2]):
            exercise = named[1]
            read += _readable(named[2])
            rows.append({"row": line, "date": day, "exercise": exercise, "work": named[2]})
        elif len(text) <= 60:
            exercise = text
    return rows if read and read >= 0.5 * len(rows) and any(row["date"] for row in rows) else []


def _looks_like_sets(text: str) -> bool:
    words = tidy(text)
    return bool(re.match(r"(?:w |bw|\d)", words)) and bool(
        re.search(r"\d\s*(?:[a-z#]{0,3}\s*)?[x@]|[x@]\s*\d", words)
    )


def _readable(text: str) -> bool:
    return any(parse_work(text, decimal, "load")[1] is None for decimal in ("point", "comma"))
