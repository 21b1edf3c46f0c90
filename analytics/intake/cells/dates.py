"""Dates: one cell's text to the day and the time it may mean."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings

FIRST_YEAR, LAST_YEAR = 1950, 2100

WEEKDAYS = {word: int(number) for word, number in meanings("weekday").items()}
"""Name of a weekday (lower case, no accents) to its number, 1 for Monday, 0 where languages differ."""
MONTHS = {word: int(number) for word, number in meanings("month").items()}
"""Name of a month (lower case, no accents) to its number."""

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_BASIC = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})")
_ISO_WEEK = re.compile(r"(\d{4})-?w(\d{2})-?([1-7])")
_YEAR_FIRST = re.compile(r"(\d{4})[/.\- ](\d{1,2})[/.\- ](\d{1,2})\.?")
# Signs may differ before a year of four digits only: 8.5/10 is an effort.
_NUMERIC = re.compile(r"(\d{1,2})\s?([/.\- ])\s?(\d{1,2})\s?(?:\2|[/.\-](?=\s?\d{4}))\s?(\d{4}|\d{2})")
_DAY_MONTH = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th|er|º|°|o|\.)?[\s\-/]*(?:de |d'|of )?\s*([a-z]+)\.?"
    r"[\s\-/,]*(?:de |del |of )?\s*'?(\d{4}|\d{2})"
)
_MONTH_DAY = re.compile(r"([a-z]+)\.?[\s\-]*(\d{1,2})(?:st|nd|rd|th)?[\s\-,]+(\d{4}|\d{2})")
_YEAR_MONTH_DAY = re.compile(r"(\d{4})[\s\-/]([a-z]+)\.?[\s\-/](\d{1,2})")
_UNTIL = re.compile(r"(\d[:h]\d{2}(?::\d{2})?)\s*(?:-|–|to|bis|until|a|à|tot)\s*\d{1,2}[:h]\d{2}(?::\d{2})?$")
_WEEKDAY = re.compile(r"^[a-z]{2,13}(?:-feira)? (?=\d|[a-z]+ \d)")
_SETS = re.compile(r"\d ?x ?\d\d?(?!\d)")
"""Sets and repetitions, of which ``3x12`` is no third of October."""
_SERIAL = re.compile(r"(\d{5})(?:[.,](\d+))?")
_TIME = re.compile(
    r"(?:[t,]|um|at|a las|à|ore|alle|\s)*(?<!\d)(\d{1,2})(?:[:h](\d{2}))(?::(\d{2})(?:[.,]\d+)?)?"
    r"\s*(am|pm|a\.\s?m\.|p\.\s?m\.|uhr|h)?"
    r"\s*(?:z|utc|gmt|[+-]\d{2}:?\d{2}|[+-]\d{2}|[a-z]{3,4})?$"
)
_POINTED = re.compile(
    r"((?:\d{4}|[/.\-]\d{2}),? (?:(?:ore|alle|um|kl\.?|at) )?\d{1,2})\.(\d{2})(?: ?(?:uhr|h))?$"
)
"""A time such as 18.30 behind a date with its year."""
_CLOCK = re.compile(r"^(0?[4-9]|1\d|2[0-3])\.(\d{2})(?: ?(?:uhr|h))?$")
"""A time of day alone with a point; 1.30 may be how long a set took."""
_ISO_TIME = re.compile(r"t(\d{2}):?(\d{2})(?::?(\d{2})(?:[.,]\d+)?)?\s*(z|[+-]\d{2}:?\d{0,2})?$")
_EPOCH = date(1899, 12, 30)
"""Serial 61 is 1900-03-01 in the 1900 system, which counts a 29 February 1900 that never was."""


@dataclass(frozen=True, slots=True)
class Moment:
    """What one text may mean: `fixed`, or a day for each order in `by_order`; `minutes` after midnight.

    `weekday` is the one written before an open order, 1 for Monday.
    """

    fixed: date | None = None
    by_order: Mapping[str, date | None] = field(default_factory=dict)
    minutes: int | None = None
    problem: str | None = None
    weekday: int | None = None

    def day(self, order: str | None) -> date | None:
        """The day under an order of the file; None where it is none."""
        return self.fixed or (self.by_order.get(order) if order else None)

    def written(self, order: str | None) -> str | None:
        """The day, and its time, with the year first."""
        day = self.day(order)
        clock = "" if self.minutes is None else f"T{self.minutes // 60:02d}:{self.minutes % 60:02d}"
        return f"{day}{clock}" if day else None


@remembered
def read_moment(text: str | None) -> Moment:
    """All that one cell's text may mean as a date, with its time of day if one is written.

    ISO 8601 calendar, basic and week dates, year first, day or month first, month names in seven languages,
    spreadsheet serial numbers (1900 system).  A time zone is dropped: the day as the athlete wrote it
    counts.
    """
    words = tidy(text)
    if not words:
        return Moment(problem="is empty")
    if len(words) > 60:
        return Moment(problem="is not a date")
    words, minutes = _split_time(words)
    if found := _ISO.fullmatch(words) or _BASIC.fullmatch(words) or _YEAR_FIRST.fullmatch(words):
        return _fixed(int(found[1]), int(found[2]), int(found[3]), minutes)
    if found := _ISO_WEEK.fullmatch(words):
        try:
            return Moment(
                fixed=date.fromisocalendar(int(found[1]), int(found[2]), int(found[3])), minutes=minutes
            )
        except ValueError:
            return Moment(problem="is not a day of the calendar")
    if found := _NUMERIC.fullmatch(words):
        year_first = len(found[1]) == 2 and "." not in words
        return _ordered(int(found[1]), int(found[3]), found[4], year_first, minutes)
    if found := _SERIAL.fullmatch(words):
        day = _EPOCH + timedelta(days=int(found[1]))
        if FIRST_YEAR <= day.year <= LAST_YEAR:
            part = round(float("0." + found[2]) * 1440) % 1440 if found[2] else minutes
            return Moment(fixed=day, minutes=part)
        return Moment(problem="is not a date")
    return _named(words, minutes)


def _named(words: str, minutes: int | None) -> Moment:
    """Dates with a month's name, and any date after a weekday's."""
    spelled = " ".join(plain(words.replace(",", " ")).split())
    if _SETS.search(spelled):
        return Moment(problem="is not a date")
    for text in (spelled, _WEEKDAY.sub("", spelled)):
        if (found := _DAY_MONTH.fullmatch(text)) and found[2] in MONTHS:
            return _fixed(_year(found[3]), MONTHS[found[2]], int(found[1]), minutes)
        if (found := _MONTH_DAY.fullmatch(text)) and found[1] in MONTHS:
            return _fixed(_year(found[3]), MONTHS[found[1]], int(found[2]), minutes)
        if (found := _YEAR_MONTH_DAY.fullmatch(text)) and found[2] in MONTHS:
            return _fixed(int(found[1]), MONTHS[found[2]], int(found[3]), minutes)
    named = re.match(r"([^\W\d]{2,13})(?:-feira)?[., ]+(?=\d)", words)
    if named is None:
        return Moment(problem="is not a date")
    again = read_moment(words[named.end() :])
    if again.problem:
        return again
    weekday = WEEKDAYS.get(plain(named[1]))
    return replace(
        again,
        minutes=minutes if again.minutes is None else again.minutes,
        weekday=weekday,
    )


def _split_time(words: str) -> tuple[str, int | None]:
    """(date part, minutes after midnight); of a span such as ``18:00 - 19:10`` the start counts."""
    words = _UNTIL.sub(r"\1", _POINTED.sub(r"\1:\2", words))
    if found := _ISO_TIME.search(words):
        hours, minutes = int(found[1]), int(found[2])
        if hours < 24 and minutes < 60 and words[: found.start()][-1:].isdigit():
            return words[: found.start()], hours * 60 + minutes
    if ":" not in words and not re.search(r"\d{1,2}h\d{2}", words):
        return words, None
    if found := _TIME.search(words):
        head = words[: found.start()].rstrip(" ,t-")
        if not head:
            return words, None
        hours, minutes = int(found[1]), int(found[2])
        half = (found[4] or "").replace(".", "").replace(" ", "")
        if half == "pm" and hours < 12:
            hours += 12
        elif half == "am" and hours == 12:
            hours = 0
        if hours < 24 and minutes < 60:
            return head, hours * 60 + minutes
    return words, None


@remembered
def read_minutes(text: str | None) -> int | None:
    """Minutes after midnight of a cell that holds only a time of day; None where it holds none."""
    words = tidy(text)
    if not words:
        return None
    return _split_time("x " + _CLOCK.sub(r"\1:\2", words))[1]


def _fixed(year: int, month: int, day: int, minutes: int | None) -> Moment:
    found = _day(year, month, day)
    if found is None:
        return Moment(problem="is not a day of the calendar")
    return Moment(fixed=found, minutes=minutes)


def _ordered(first: int, second: int, third: str, year_first: bool, minutes: int | None) -> Moment:
    year = _year(third)
    by_order = {"dmy": _day(year, second, first), "mdy": _day(year, first, second)}
    if len(third) == 2 and year_first:
        by_order["ymd"] = _day(_year(f"{first:02d}"), second, int(third))
    if not any(by_order.values()):
        return Moment(problem="is not a day of the calendar")
    return Moment(by_order=by_order, minutes=minutes)


def _year(digits: str) -> int:
    """Two digits as POSIX reads %y: 69 to 99 are 1969 to 1999, 00 to 68 are 2000 to 2068."""
    value = int(digits)
    if len(digits) > 2:
        return value
    return value + (1900 if value >= 69 else 2000)


def _day(year: int, month: int, day: int) -> date | None:
    if not FIRST_YEAR <= year <= LAST_YEAR:
        return None
    try:
        return date(year, month, day)
    except ValueError:
        return None
