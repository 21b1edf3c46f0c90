"""Sections: rows under a line that counts for all below it, ``Athlete: Dunlin`` or ``From here on in lb``."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

import polars as pl

from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.remark import declared_unit
from analytics.intake.cells.units import UNIT_WORDS
from analytics.intake.header.heading import normal
from analytics.intake.lookup import Texts
from analytics.intake.sheet.sheet import Sheet
from analytics.intake.source.grid import Grid

LABELLED = re.compile(r"\s*([^:=]{2,30}?)\s*[:=]\s*(\S.*)")
"""A heading with its label, such as ``Date: 5.1.2026``."""
_CLAUSE = re.compile(r"[^\w\s/]+")
_OWN = re.compile(r"\b(?:body|korper|corp|goal|target|ziel|lost|gain|weigh(?:ed)?\b|gewogen)")
_LONGEST = 120
_SEARCHED = 2
"""Columns that may hold such a line: the first, or the second where the first is blank."""


def athletes_above(grid: Grid, row: pl.Series, known: Mapping[str, str]) -> Texts | None:
    """Whom the last such line above each of the lines `row`, which hold sets, names; None if there is none.

    A name may stand in the cell beside its label.
    """
    others = grid.cells.elsewhere(row)
    named: dict[int, str] = {}
    for line, record in zip(others.lines, others.written(), strict=True):
        if any(cell and _is_label(cell, known) for cell in record[:_SEARCHED]) and (
            name := _named([cell.strip() for cell in record if cell and cell.strip()])
        ):
            named[line] = name
    return _below(named, row)


def units_above(grid: Grid, row: pl.Series, rows_at: int, names: Sequence[str] | None = None) -> Texts | None:
    """The unit of load that the last line above each of the lines `row` declares; None if there is none.

    Such a line stands among the rows, from record `rows_at` on, and holds no set: ``back home, all in kg``.
    A text without columns has `names` of lifts, none of which is such a line, and commas of its own.
    """
    if grid.cells.height - rows_at == row.len():
        return None
    first, others = int(grid.cells.lines[rows_at]), grid.cells.elsewhere(row)
    told = {}
    for line, record in zip(others.lines, others.written(), strict=True):
        if line < first:
            continue
        texts = [cell for cell in record if cell and any(c.isalpha() for c in cell)]
        named = names is not None and any(cell.strip() in names for cell in texts)
        texts = [", ".join(cell.strip() for cell in texts)] if names is not None and texts else texts
        if len(texts) == 1 and not named and (unit := declared_unit(texts[0]) or _declared(texts[0])):
            told[line] = unit
    return _below(told, row)


def with_units(sheet: Sheet, grid: Grid) -> Sheet:
    """The sheet of a text without a header, with the units that its lines declare for those below."""
    names = sheet.fields["exercise"].written if "exercise" in sheet.fields else []
    said = units_above(grid, sheet.row, 0, names)
    if said is None:
        return sheet
    remark = f"{' and '.join(said.written)} by a line above the sets"
    return replace(sheet, fields={**sheet.fields, "unit": said}, remarks=(*sheet.remarks, remark))


def _declared(text: str) -> str | None:
    """The unit that a clause of a line opens or ends with; no amount of it, and nobody's own weight."""
    words = plain(tidy(text[:_LONGEST]))
    if _OWN.search(words):
        return None
    for clause in _CLAUSE.split(words):
        ends = clause.split()
        for unit in (ends[-1], ends[0]) if ends else ():
            if unit in UNIT_WORDS and len(unit) > 1 and not any(c.isdigit() for c in clause):
                return UNIT_WORDS[unit]
    return None


def _below(told: Mapping[int, str], row: pl.Series) -> Texts | None:
    """What the last line above each of the lines `row` says; None where no line says anything."""
    if not told:
        return None
    order = sorted(told)
    words = (None, *sorted(set(told.values())))
    table = pl.Series([0, *(words.index(told[line]) for line in order)], dtype=pl.UInt32)
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
