"""Counts: whether a column such as ``Serie`` numbers the sets, or says how many a row stands for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import polars as pl

from analytics.intake.cells.numbers import set_number, tidy
from analytics.intake.header.heading import Heading, bare_name
from analytics.intake.lookup import Texts

_EITHER = ("set", "satz", "serie", "s")
"""Names of a column that numbers the sets, or counts them: in Italian one word is both."""
_LOOKED_AT = 1000
_COUNT = re.compile(r"x?\s?(\d{1,2})\s?(?:x|sets?|satz|satze|sätze|saetze|series?|séries?)?\.?")
_RANGE = re.compile(r"(?:sets?|satz|satze|sätze|series?)?\s?(\d{1,2})\s?(?:-|to|bis|a|à|tot)\s?(\d{1,2})")

Columns = dict[int, Texts]


def with_ranges(headings: list[Heading], columns: Columns) -> list[Heading]:
    """Set numbers such as ``2-4`` say how many sets a row stands for, as ``3 sets`` and ``x3`` do."""
    by = {h.field: h for h in headings}
    counted = by.get("sets")
    told = counted or by.get("set_number")
    if told is None:
        return headings
    texts = columns[told.column]
    read = {text: _count(text) if counted else _range(text) for text in texts.written}
    if not any(read.values()):
        return headings
    plain = (None if text is None else read[text] or (text if counted else "1") for text in texts.texts)
    columns[told.column] = Texts(texts.ids, tuple(plain))
    return [replace(h, field="sets") if h is told else h for h in headings]


def _count(text: str) -> str | None:
    """The digits of a count of sets with a word or a sign; None where the text is no such count."""
    found = _COUNT.fullmatch(tidy(text))
    return found[1] if found else None


def _range(text: str) -> str | None:
    """How many sets ``2-4`` are; None where the text is no such range from a lower to a higher number."""
    found = _RANGE.fullmatch(tidy(text))
    return str(int(found[2]) - int(found[1]) + 1) if found and int(found[1]) < int(found[2]) else None


def with_counts(headings: list[Heading], columns: Columns) -> list[Heading]:
    """A column ``Serie`` counts the sets if no exercise has, on one day, a first set and others."""
    by = {h.field: h for h in headings}
    told = by.get("set_number")
    if (
        told is None
        or "sets" in by
        or bare_name(told.text) not in _EITHER
        or not {"date", "exercise"} <= by.keys()
    ):
        return headings
    numbers = [set_number(text) for text in columns[told.column].written]
    if not numbers or any(number is None for number in numbers) or max(n or 0 for n in numbers) < 2:
        return headings
    names = ("date", "exercise", "side", "set_number")
    read = {name: columns[by[name].column] for name in names if name in by}
    times = all("x" in tidy(text) for text in columns[told.column].written)
    if not times and any(_runs(read, rows) for rows in (_LOOKED_AT, len(read["date"].ids))):
        return headings
    return [replace(h, field="sets") if h is told else h for h in headings]


def without_totals(headings: list[Heading], columns: Columns) -> list[Heading]:
    """A column ``Sets`` beside numbered sets counts those of the exercise, if most have no more rows.

    Where no exercise of a day has just as many rows, each row stands for that many sets.
    """
    by = {h.field: h.column for h in headings}
    names = ("date", "exercise", "set_number", "sets")
    if not by.keys() >= set(names):
        return headings
    ids = [_carried(columns[by[name]].ids).alias(name) for name in names[:2]]
    count = columns[by["sets"]].spread(lambda text: int(_count(text) or 0), pl.Int64())
    number = columns[by["set_number"]].spread(set_number, pl.Int64())
    days = (
        pl.DataFrame([*ids, count.alias("sets"), number.alias("number")])
        .drop_nulls("number")
        .group_by(names[:2])
        .agg(
            pl.len().alias("rows"),
            (pl.col("sets") == pl.len()).all().alias("each"),
            ((pl.col("sets").n_unique() == 1) & (pl.col("sets") >= pl.len()).all()).alias("total"),
            (pl.col("number").n_unique() == pl.len()).alias("numbered"),
        )
        .filter(pl.col("rows") > 1)
    )
    each, total = days.get_column("each"), days.get_column("total") & days.get_column("numbered")
    if not each.any() or 2 * int(total.sum()) <= days.height:
        return headings
    return [h for h in headings if h.field != "sets"]


def _runs(columns: Mapping[str, Texts], rows: int) -> bool:
    """Whether sets are numbered in the first rows: 1, 2, 3 down the rows, or for most exercises of a day that
    have a higher number or many rows from 1 on, up to twice (warm-ups and the others) or in runs of two.
    """
    numbers = columns["set_number"]
    count = Texts(numbers.ids.head(rows), numbers.texts).spread(set_number, pl.Int64())
    key = [name for name in columns if name != "set_number"]
    frame = pl.DataFrame(
        [_carried(columns[name].ids.head(rows)).alias(name) for name in key] + [count.alias("n")]
    ).drop_nulls("n")
    if (frame.get_column("n").diff() == 1).sum() > 0.5 * frame.height:
        return True
    number = pl.col("n")
    upward = (number.diff() != 1).fill_null(True)
    downward = (number.diff().shift(-1) != -1).fill_null(True)  # as upward, from the last row on
    days = frame.group_by(key, maintain_order=True).agg(
        (number.max() > 1).or_(pl.len() > 2).alias("told"),
        ((number.n_unique() == pl.len()) & (number.max() == pl.len()) & (number.min() == 1)).alias("each"),
        *(
            (((number == 1) | ~begins).all() & ((begins.sum() <= 2) | (2 * begins.sum() <= pl.len()))).alias(
                name
            )
            for name, begins in (("up", upward), ("down", downward))
        ),
    )
    told = days.filter("told").select(pl.any_horizontal("up", "down", "each")).to_series()
    return 2 * int(told.sum()) > told.len()


def _carried(ids: pl.Series) -> pl.Series:
    """The numbers of texts, of an empty cell that of the cell above; None where there is none."""
    return ids if ids.min() else ids.replace(0, None).forward_fill()
