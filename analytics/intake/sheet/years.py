"""Years: days written without a year, ``Mo 12.1.``, under a line that tells it, ``Training log 2026``."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby, pairwise

from analytics.intake.cells.afterword import wished_for
from analytics.intake.cells.dayline import ShortDay, read_short_day
from analytics.intake.lookup import Texts
from analytics.intake.sheet.sheet import Sheet
from analytics.intake.source.grid import TITLE_CELLS, Grid

_YEAR = re.compile(r"(?<![\d.,/-])(20\d\d)(?![\d.,/-]\d)")
_TWO_YEARS = re.compile(r"\D*(20\d\d)\D+(20\d\d|[2-9]\d)\D*")
_PLAN = re.compile(r"^plan\b", re.IGNORECASE)
_LONGEST = 60
_MOST_FIT = 0.8
"""So many of the weekdays must be those of their days (own rule): one may be mistyped."""
_NEW_YEAR = 6
"""Months that two days lie apart at the least where the later one stands in the next year."""


@dataclass(frozen=True)
class _Way:
    days: list[tuple[int, int]]
    years: list[int]
    fit: float


def said_years(record: Sequence[str | None]) -> tuple[int, int] | None:
    """The year that a line of words tells, the only number in it, as first and last; no plan and no wish.

    ``December 2025 to January 2026`` and ``Winter 2025/26`` tell two of them.
    """
    filled = [cell.strip() for cell in record if cell and cell.strip()]
    text = " ".join(filled)
    if not filled or len(filled) > TITLE_CELLS or len(text) > _LONGEST or wished_for(_PLAN.sub("", text)):
        return None
    if (both := _TWO_YEARS.fullmatch(text)) and (int(both[1]) + 1) % 100 == int(both[2]) % 100:
        return int(both[1]), int(both[1]) + 1
    found = _YEAR.search(text)
    return (int(found[1]),) * 2 if found and len(re.findall(r"\d+", text)) == 1 else None


def with_years(sheet: Sheet, grid: Grid) -> Sheet:
    """The sheet with the years of its days, where lines above them tell them; other days stay as they are."""
    column = sheet.fields.get("date")
    short = {text: day for text in column.written if (day := _short(text))} if column else {}
    if column is None or not short:
        return sheet
    records = zip(grid.cells.lines.to_list(), grid.cells.written(), strict=True)
    told = {line: years for line, record in records if (years := said_years(record))}
    if years := said_years([sheet.header("date")]):
        told[0] = years
    at = sorted(told)
    if not at:
        return sheet
    texts = column.cells().to_list()
    under = [bisect_right(at, line) for line in sheet.row.to_list()]
    days: list[str | None] = []
    for number, rows in groupby(range(len(texts)), under.__getitem__):
        runs = [list(run) for _, run in groupby(rows, texts.__getitem__)]
        firsts = [texts[run[0]] for run in runs]
        found = dated([short.get(text or "") for text in firsts], told[at[number - 1]] if number else None)
        days += [day or text for run, text, day in zip(runs, firsts, found, strict=True) for _ in run]
    fields = {**sheet.fields, "date": Texts.listed(days)}
    told_of = (*sheet.remarks, "the year of its days by a line above them")
    return replace(sheet, fields=fields, remarks=told_of)


def dated(days: Sequence[ShortDay | None], told: tuple[int, int] | None) -> list[str | None]:
    """The days with their year, None for those without a short day, or for all where the year stays open.

    `told`: the first and the last year.  Where they differ the days must go from one to the other.  The first
    day is of the first year, or the one before if the weekdays say so; where days go on after New Year, the
    next one begins.  Days that go back and forth are all of one year, unless half a year lies between two.
    Where day and month may be exchanged they are left to the order of the file.
    """
    short = [day for day in days if day]
    ways = [
        way
        for name in ("day_first", "month_first")
        if short and told and all(getattr(day, name) for day in short)
        for way in _ways([getattr(day, name) for day in short], [day.weekday for day in short], told)
    ]
    best = [way for way in ways if way.fit == max(way.fit for way in ways)]
    if not best or len({tuple(way.years) for way in best}) > 1:
        return [None] * len(days)
    open_order = len({tuple(way.days) for way in best}) > 1
    written = iter(
        f"{d}/{m}/{y}" if open_order else f"{y}-{m:02d}-{d:02d}"
        for (m, d), y in zip(best[0].days, best[0].years, strict=True)
    )
    return [next(written) if day else None for day in days]


def _ways(days: list[tuple[int, int]], weekdays: list[int], told_years: tuple[int, int]) -> list[_Way]:
    """The years that the days may be of, with the share of the weekdays that fit."""
    falls = new_years = jumps = 0
    since = [0]
    for before, after in pairwise(days):
        new_years += before[0] - after[0] >= _NEW_YEAR
        falls += after < before and before[0] - after[0] < _NEW_YEAR
        jumps += after[0] - before[0] >= _NEW_YEAR
        since.append(new_years)
    year, last = told_years
    if (falls and (new_years or jumps)) or (last > year and new_years != last - year):
        return []
    found = []
    for first in (year, year - 1) if new_years and any(weekdays) and last == year else (year,):
        years = [first + more for more in since]
        dated_on = zip((_weekday(y, *day) for y, day in zip(years, days, strict=True)), weekdays, strict=True)
        told = [fallen == weekday for fallen, weekday in dated_on if fallen and weekday]
        fit = sum(told) / len(told) if told else 1.0
        found += [_Way(days, years, fit)] if fit >= _MOST_FIT else []
    return found


def _weekday(year: int, month: int, day: int) -> int | None:
    try:
        return date(year, month, day).isoweekday()
    except ValueError:
        return None


def _short(text: str) -> ShortDay | None:
    return None if re.search(r"\d{4}", text) else read_short_day(text)
