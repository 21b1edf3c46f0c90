"""Jumps: days of another year in a file whose days else go one way, as after New Year."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import groupby, pairwise

import polars as pl

from analytics.intake.rows.copies import MOST_ROWS
from analytics.intake.rows.problems import Problems
from analytics.intake.sheet.sheet import Sheet

_FEWEST_DAYS = 4
_LARGEST_SHARE = 0.25
"""Where more of the days are of another year, they may as well be right (own rule)."""
_LONGEST_PAUSE = 60
"""Days from the day before; a session that was forgotten and is written last is no jump (own rule)."""
_REASON = "has another year than the days around it, among which it would stand with theirs"
_CURE = "Write the year that it was, or put the row where its day belongs"


def tell_jumps(sheet: Sheet, dates: pl.Series, problems: Problems) -> None:
    """Set aside the rows whose day would keep the order of the file with the year before or after.

    Rows without a date in `dates` are no evidence.
    """
    told = dates.drop_nulls()
    if told.len() > MOST_ROWS or told.is_sorted() or told.is_sorted(descending=True):
        return
    first = sheet.part == sheet.part.min()
    rows = list(zip(dates.filter(first).to_list(), sheet.row.filter(first).to_list(), strict=True))
    stands = [(day, [line for _, line in some]) for day, some in groupby(rows, key=lambda row: row[0]) if day]
    days = [day for day, _ in stands]
    found = [
        odd
        for forward in (True, False)
        for sign in (1, -1)
        if (odd := _odd(days if forward else days[::-1], sign, forward)) is not None
    ]
    odd = min(found, key=len, default=[])
    if not odd or len(odd) > _LARGEST_SHARE * len(days) or len(set(days)) - len(odd) < _FEWEST_DAYS:
        return
    lines = pl.Series([line for at in odd for line in stands[at][1]], dtype=sheet.row.dtype).implode()
    problems.rows(pl.select(sheet.row.is_in(lines)).to_series() & first, "date", "date", _REASON, _CURE)


def _odd(days: Sequence[date], sign: int, forward: bool) -> list[int] | None:
    """The places (of the file) of days that break the order and keep it with another year; None if others do.

    `sign`: 1 where the days rise, -1 where they fall, as they are given.
    """
    odd, kept = [], [days[0]]
    whole = [days[0]]
    for at, day in enumerate(days[1:], 1):
        if (day - kept[-1]).days * sign >= 0:
            kept.append(day)
            whole.append(day)
        elif (other := _other_year(day, sign)) and abs((other - whole[-1]).days) <= _LONGEST_PAUSE:
            odd.append(at)
            whole.append(other)
        else:
            return None
    if any((b - a).days * sign < 0 for a, b in pairwise(whole)):
        return None
    return odd if forward else [len(days) - 1 - at for at in odd]


def _other_year(day: date, step: int) -> date | None:
    try:
        return day.replace(year=day.year + step)
    except ValueError:
        return None
