"""Sections: tables one below the other, each under a line such as ``Athlete: Dunlin``."""

from __future__ import annotations

import re
from collections.abc import Mapping

import polars as pl

from analytics.intake.lookup import Texts, among, distinct
from analytics.intake.sheet.header import normal
from analytics.intake.source.grid import Grid, written

LABELLED = re.compile(r"\s*([^:=]{2,30}?)\s*[:=]\s*(\S.*)")
"""A heading with its label, such as ``Date: 5.1.2026``."""
_SEARCHED = 2
"""Columns that may hold such a line: the first, or the second where the first is blank."""


def athletes_above(grid: Grid, row: pl.Series, known: Mapping[str, str]) -> Texts | None:
    """Whom the last such line above each of the lines `row`, which hold sets, names; None if there is none.

    A name may stand in the cell beside its label.
    """
    others = grid.cells.filter(~among(grid.cells.get_column("row"), row))
    named: dict[int, str] = {}
    for column in grid.columns[:_SEARCHED]:
        cells = others.get_column(column)
        labels = [text for text in distinct(cells) if _is_label(text, known)]
        if not labels:
            continue
        found = others.filter(cells.cast(pl.String).is_in(labels))
        for line, record in zip(found.get_column("row"), written(found, grid.columns), strict=True):
            if name := _named([cell.strip() for cell in record if cell and cell.strip()]):
                named[line] = name
    if not named:
        return None
    order = sorted(named)
    words = (None, *sorted(set(named.values())))
    table = pl.Series([0, *(words.index(named[line]) for line in order)], dtype=pl.UInt32)
    return Texts(table[pl.Series(order, dtype=row.dtype).search_sorted(row, side="right")], words)


def _named(filled: list[str]) -> str | None:
    """The name in a line that holds nothing else than it and its label."""
    if told := LABELLED.fullmatch(filled[0]):
        return told[2] if len(filled) == 1 else None
    return filled[1] if len(filled) == 2 else None


def _is_label(text: str, known: Mapping[str, str]) -> bool:
    if not text.lstrip()[:1].isalpha():
        return False
    told = LABELLED.fullmatch(text)
    return known.get(normal(told[1] if told else text)) == "athlete"
