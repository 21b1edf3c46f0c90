"""Weeks: days that are told by a weekday alone, under a line that says which week it is."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import product

import polars as pl

from analytics.intake.cells.dates import WEEKDAYS, read_moment
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.header.head import Head
from analytics.intake.header.heading import Heading
from analytics.intake.lookup import Texts
from analytics.intake.source.grid import TITLE_CELLS, Grid

_CALENDAR_WEEK = re.compile(
    r"\bkw\W{0,2}(\d{1,2})\W{1,3}(20\d{2})\b|\b(20\d{2})\W{0,2}(?:kw|w)\W?(\d{1,2})\b"
)
_TO = r"\s*(?:-|–|—|to|bis|al?|au|tot|até|ate)\s*"
_SHORT_DAY = re.compile(rf"\b(\d{{1,2}}([./])\d{{1,2}})\.?{_TO}(?=\d{{1,2}}\2\d{{1,2}}\2(\d{{4}}|\d{{2}})\b)")
"""The first of two days, without the year of the second: ``2.3. - 8.3.2026``."""
_MONTH = r"(?:de |of )?[^\W\d]{3,}\.? (?:de |of )?20\d{2}"
_DAY_ALONE = re.compile(rf"\b(\d{{1,2}})\.?{_TO}(?=\d{{1,2}}\.? ({_MONTH}))")
_DAY = re.compile(
    rf"\d{{1,4}}[./-]\d{{1,2}}[./-]\d{{2,4}}|\d{{1,2}}\.? {_MONTH}|[^\W\d]{{3,}} \d{{1,2}},? 20\d{{2}}"
)
_LAST = re.compile(r"\b(?:until|end(?:ing|ed|s)?|bis|endet|hasta|jusqu|fino|até|ate|tot)\b")


def with_weeks(
    grid: Grid, head: Head, columns: dict[int, Texts], headings: Sequence[Heading]
) -> tuple[str, ...]:
    """Put the day of the calendar where the date column has a weekday under the line of a week.

    `columns`, by number, is changed where there are such rows; the ledger is told.  A weekday under no week
    stays as it is.
    """
    column = next(h.column for h in headings if h.field == "date")
    said = [plain(text or "").removesuffix("-feira") for text in columns[column].texts]
    weekdays = [WEEKDAYS.get(text) for text in said]
    if not any(weekdays):
        return ()
    begin, days = None, []
    numbers = iter(columns[column].ids.to_list())
    for at, record in enumerate(grid.cells.written()):
        filled = [cell for cell in record if cell and cell.strip()]
        begin = (week_begin(" ".join(filled)) if len(filled) <= TITLE_CELLS else None) or begin
        if at >= head.rows_at:
            number = next(numbers)
            day = weekdays[number]
            days.append(begin + timedelta((day - begin.isoweekday()) % 7) if day and begin else None)
    told = pl.Series(days, dtype=pl.Date)
    found = told.is_not_null()
    if not found.any():
        return ()
    texts = told.cast(pl.String).zip_with(found, columns[column].cells())
    columns[column] = Texts.of_strings(texts)
    return (f"{int(found.sum())} weekdays read as days of the week that a line above them tells",)


def week_begin(title: str) -> date | None:
    """The first day of the week that a line tells; None where it tells none, or where two are meant.

    A week is told by its first and last day, by its Monday (or the Sunday before), by the Sunday it ends
    with, or by its number and year (ISO 8601) where the line calls it KW or W.
    """
    text = tidy(title)
    if found := _CALENDAR_WEEK.search(text):
        week, year = (found[1], found[2]) if found[1] else (found[4], found[3])
        try:
            return date.fromisocalendar(int(year), int(week), 1)
        except ValueError:
            return None
    whole = _DAY_ALONE.sub(r"\1 \2 - ", _SHORT_DAY.sub(r"\1\2\3 - ", text))
    told = [_days(found[0]) for found in _DAY.finditer(whole)]
    if len(told) == 2:
        begins = {a for a, b in product(*told) if _spans(a, b)}
    elif len(told) == 1:
        back = timedelta(6 if _LAST.search(text) else 0)
        begins = {day - back for day in told[0] if (day - back).isoweekday() in (1, 7)}
    else:
        return None
    return begins.pop() if len(begins) == 1 else None


def _days(text: str) -> list[date]:
    """The days that a text may mean; with dots the day comes first."""
    moment = read_moment(text)
    orders = ("dmy",) if "." in text else tuple(moment.by_order)
    return [day for day in (moment.fixed, *(moment.by_order.get(order) for order in orders)) if day]


def _spans(first: date, last: date) -> bool:
    """Whether two days are the first and the last of a week, or of its working days."""
    days = (last - first).days
    return days == 6 or (first.isoweekday() == 1 and days in (4, 5))
