"""Day line: a heading that tells the day among other words, such as ``Training vom 02.03.2026 - Beine``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from analytics.intake.cells.dates import MONTHS, WEEKDAYS, read_moment
from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings

_DAY = re.compile(
    r"(?<![\d.,/])(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}\s?([-/.])\s?\d{1,2}\s?\1\s?(?:\d{4}|\d{2})"
    r"|\d{1,2}(?:st|nd|rd|th|er|º|\.)?\s(?:de\s)?[^\W\d_]{3,10}\.?,?\s(?:de\s|del\s)?\d{4}"
    r"|[^\W\d_]{3,10}\.?\s\d{1,2}(?:st|nd|rd|th)?,?\s\d{4})(?![\d/]|[.,]\d)",
    re.IGNORECASE,
)
_SHORT_YEAR = re.compile(r"(?<![\d.,/])\d{1,2}\s?([-/])\s?\d{1,2}\s?\1\s?(\d{2})(?![\d/]|[.,]\d)")
_LINK = re.compile(
    r"(?:\s|^)(?:of|on|from|the|for|vom|von|am|du|de|del|des|le|el|il|di|do|da|van|op)$", re.IGNORECASE
)
_DONE = re.compile(r"\d\s*(?:kgs?|lbs?|reps?|wdh|x|@)|x\s*\d", re.IGNORECASE)
_FELT = re.compile(
    r"(?:i |me |ik |ich )?(?:felt|feel|feeling|slept|was|were|too|very|tired|fuhlte|gefuhlt|war|mude"
    r"|schlecht|zu|sehr|senti|sento|dormi|cansad[oa]|muy|muito|troppo|trop|j ai|fatigue|stanc[oa]|voelde"
    r"|moe|sliep)\b.*"
    r"|.*(?<![\d/.\-])(?:10|\d) ?/ ?10"
)
_CLOCK = re.compile(
    r"[T,\s]\s*(?:at |um |a las )?\d{1,2}[:h]\d{2}(?::\d{2})?(?:\s?(?:[ap]m|uhr|h)\b)?", re.IGNORECASE
)
_WEEKDAY = re.compile(r"\b([^\W\d_]{2,13})(?:-feira)?[.,]*\s*$")
_MONTHS = frozenset(word for word in meanings("month") if len(word) > 2 and word != "set")
_YEARLESS = re.compile(
    r"(?:(?P<weekday>[^\W\d_]{2,13})(?:-feira)?[.,]*\s+)?"
    r"(?:(?P<first>0?[1-9]|[12]\d|3[01])(?:\s?[/-]\s?|\s)(?P<second>0?[1-9]|[12]\d|3[01])\.?"
    r"|(?P<day>\d{1,2})(?:st|nd|rd|th|er|º|\.)?\s(?:de\s)?(?P<month>[^\W\d_]{3,10})\.?"
    r"|(?P<before>[^\W\d_]{3,10})\.?\s(?P<behind>\d{1,2})(?:st|nd|rd|th)?)"
    r"(?P<more>\s?[,:–-]?\s[^\d]*)?"
)
_SIGNED, _DECIMAL = re.compile(r"\d\s?([./-])\s?\d"), re.compile(r"\d+\.\d+")
_EDGES = " \t,;:|()[]-–—=/"
LONGEST = 80
_LAST_MONTH = 12


@dataclass(frozen=True, slots=True)
class ShortDay:
    """A day without its year: its month and day with the `day_first` or the `month_first`, None where it is
    none; `weekday` is 1 for Monday, 0 where none is written.
    """

    day_first: tuple[int, int] | None
    month_first: tuple[int, int] | None
    weekday: int


@remembered
def read_day_line(text: str | None) -> tuple[str, str | None] | None:
    """(the day as written, the other words) of a heading with one date in it; None where there is none.

    A weekday before the date and a time of day behind it belong to the day.  Words with other digits than
    the date's may be a set, so at most one number of two digits may stand there (``Day 1``).
    """
    if not text or len(text) > LONGEST:
        return None
    found = [day for day in _DAY.finditer(text) if read_moment(day[0]).problem is None]
    if len(found) != 1:
        return None
    start, end = found[0].span()
    if clock := _CLOCK.match(text, end):
        end = clock.end()
    if (weekday := _WEEKDAY.search(text[:start])) and plain(weekday[1]) in WEEKDAYS:
        start = weekday.start()
    before, after = text[:start].strip(_EDGES), text[end:].strip(_EDGES)
    while link := _LINK.search(before):
        before = before[: link.start()].strip(_EDGES)
    words = " ".join(part for part in (before, after) if part)
    numbers = re.findall(r"\d+", words)
    if _DONE.search(words) or len(numbers) > 1 or any(len(number) > 2 for number in numbers):
        return None
    return text[start:end].strip(_EDGES), words or None


def split_day(text: str) -> tuple[str, str] | None:
    """(the day, the rest) of a line that begins with a date and goes on with a word; else None."""
    found = _begun(text)
    return found if found and found[1][:1].isalpha() else None


def opening_day(text: str, *, whole: bool = True) -> tuple[str, str] | None:
    """(the day, the rest) of a line that begins with a date (`whole`: with its century); else None."""
    found = _begun(text)
    return found if found and (not whole or re.search(r"\d{4}", found[0])) else None


def reps_like_a_day(text: str, above: str | None) -> bool:
    """Whether ``Push-ups: 15/12/10`` lists repetitions: as a day it would lie years from the day `above`."""
    short, year = _SHORT_YEAR.search(text), re.search(r"(?:\d\d)?(\d\d)\D*$", above or "")
    return bool(short and year and abs(int(short[2]) - int(year[1])) > 1)


def _begun(text: str) -> tuple[str, str] | None:
    found = _DAY.match(text)
    if not found or read_moment(found[0]).problem is not None:
        return None
    return found[0], text[found.end() :].lstrip(_EDGES)


def names_other_day(text: str, day: str | None) -> bool:
    """Whether a line names a day whose year or date it does not tell: ``Fri 6/3``, ``8 March``, or a weekday
    alone that is not the one of `day`, the day above.
    """
    words = plain(tidy(text)).strip(_EDGES + ".")
    if words in WEEKDAYS:
        return len(words) > 2 and not _falls_on(day, WEEKDAYS[words])
    return read_short_day(text) is not None


def is_day(text: str) -> bool:
    """Whether a cell is a day, with or without its year."""
    return read_moment(text).problem is None or read_short_day(text) is not None


@remembered
def read_short_day(text: str | None) -> ShortDay | None:
    """The day that a text tells without its year, ``Fri 6/3`` or ``8 March``; None where it tells none."""
    found = _YEARLESS.fullmatch(plain(tidy(text)).strip(_EDGES + "."))
    if not found or not text:
        return None
    weekday = WEEKDAYS.get(found["weekday"]) if found["weekday"] else None
    if found["weekday"] and weekday is None:
        return None
    if month := found["month"] or found["before"]:
        named = (MONTHS[month], int(found["day"] or found["behind"])) if month in _MONTHS else None
        return ShortDay(named, named, weekday or 0) if named else None
    sign = _SIGNED.search(text)
    if not sign or not (
        found["weekday"] or (sign[1] != "-" and not found["more"] and not _DECIMAL.fullmatch(text))
    ):
        return None
    first, second = int(found["first"]), int(found["second"])
    day_first = (second, first) if second <= _LAST_MONTH else None
    month_first = (first, second) if first <= _LAST_MONTH and sign[1] != "." else None
    return ShortDay(day_first, month_first, weekday or 0) if day_first or month_first else None


def _falls_on(day: str | None, weekday: int) -> bool:
    moment = read_moment(day)
    days = [moment.fixed, *moment.by_order.values()]
    return any(one is not None and one.isoweekday() == weekday for one in days)


def tells_how_it_went(text: str) -> bool:
    """Whether a line of words, such as ``felt strong today`` or ``Energy 7/10``, is a remark and no name."""
    return bool(_FELT.fullmatch(plain(text)))
