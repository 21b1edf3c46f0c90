"""Copies: a stretch of rows over several days that stands in the file a second time."""

from __future__ import annotations

import polars as pl

from analytics.intake.rows.problems import Problems
from analytics.intake.sheet.sheet import Sheet

FEWEST_ROWS = 4
MOST_ROWS = 200_000
"""Beyond that a file is no log that anyone pastes by hand."""


def tell_copies(sheet: Sheet, dates: pl.Series, minutes: pl.Series, problems: Problems) -> None:
    """Set aside the rows of a stretch that repeats an earlier one cell by cell.

    Equal rows are sets; but days that come back with the same rows, at least two days, two exercises and
    four rows in their order, were pasted twice.  So was one day of rows most of which have a time of day of
    their own.  Files whose days go one way, and the times of their days, hold none.  Rows without a date in
    `dates` are no part of a copy; `minutes` are those after midnight.
    """
    height = dates.len()
    if not FEWEST_ROWS <= height <= MOST_ROWS or sheet.part.max():
        return
    timed = minutes.null_count() < height
    moments = dates.cast(pl.Int32) * 1440 + minutes if timed else dates
    if all(_one_way(told.drop_nulls()) for told in (dates, moments)):
        return
    cells = pl.DataFrame([column.ids.alias(name) for name, column in sheet.fields.items()])
    days, hashes, times = dates.to_list(), cells.hash_rows().to_list(), moments.to_list()
    keys = [key if day else -1 - i for i, (key, day) in enumerate(zip(hashes, days, strict=True))]
    lifts = sheet.fields["exercise"].ids.to_list() if "exercise" in sheet.fields else [0] * height
    starts: dict[int, list[int]] = {}
    copied: dict[int, int] = {}
    at = 0
    while at < height:
        first = at == 0 or days[at] != days[at - 1] or (timed and (times[at] or 0) < (times[at - 1] or 0))
        length, source = _longest(keys, at, starts.get(keys[at], ()) if first else ())
        stretch = slice(at, at + length)
        several = len(set(days[stretch])) > 1 or (timed and 2 * len(set(times[stretch]) - {None}) > length)
        if length >= FEWEST_ROWS and several and len(set(lifts[stretch])) > 1:
            copied |= {at + i: source + i for i in range(length)}
            at += length
            continue
        if first:
            starts.setdefault(keys[at], []).append(at)
        at += 1
    if copied:
        line = sheet.row.to_list()
        mask = pl.Series([i in copied for i in range(height)])
        said = pl.Series([f"repeats line {line[copied[i]]}: these days stand here twice" for i in copied])
        problems.rows(mask, "row", "set", said, "Delete one of the two copies")


def _one_way(told: pl.Series) -> bool:
    return told.is_sorted() or told.is_sorted(descending=True)


def _longest(keys: list[int], at: int, starts: list[int] | tuple[int, ...]) -> tuple[int, int]:
    """(rows, first row) of the longest earlier stretch that the rows from `at` on repeat."""
    found = (0, 0)
    for start in starts:
        length = 0
        while at + length < len(keys) and start + length < at and keys[start + length] == keys[at + length]:
            length += 1
        found = max(found, (length, start))
    return found
