"""Decimals: loads whose decimal comma parts them, in a file parted by commas, put together again."""

from __future__ import annotations

from dataclasses import replace

import polars as pl

from analytics.intake.header.head import Head
from analytics.intake.lookup import Texts
from analytics.intake.source.grid import Grid

_LOADS = ("load", "added", "assistance")
_BESIDE = {"date", "time", "athlete", "exercise", "set_number", "sets", "reps", "role", "side", "superset"}
_BESIDE |= {"session", "unit", "note", "equipment", "ticked", "skipped", "failure", "implements"}
"""Fields whose numbers have no decimals, so that a load alone can have parted a row."""
_COUNTS = {"set_number": r"^\s*\d*\s*$", "sets": r"^\s*\d*\s*$", "reps": r"^\s*\d+\s*$", "date": r"\d"}
"""What stands in a cell of these fields; reps and the date are never missing."""
_WHOLE, _PART = r"^\s*\d+$", r"^(?:5|50|25|75)\s*$"
_STEP = 125
"""Hundredths that loads with decimals are multiples of: plates of 1.25 and dumbbells of 2.5 (common practice,
no source).  So ``102,5,8`` is one load and its reps, and ``100,5,8`` may be a load, reps and an effort."""


def rejoined(grid: Grid, head: Head) -> tuple[Grid, tuple[str, ...]]:
    """The grid with every ``72,5`` in one cell again, and what the ledger is told of it.

    Done where one reading is left: the file has one column of loads and no other one whose numbers have
    decimals, the row has one cell more than names, the load is one that plates make, and with it whole again
    counts stand where counts belong.
    """
    loads = [h.column for h in head.headings if h.field in _LOADS]
    fields = {h.column: h.field for h in head.headings}
    others = {fields.get(i) for i in range(head.last + 1) if i not in loads}
    if grid.widths is None or len(loads) != 1 or not others <= _BESIDE or head.rivals:
        return grid, ()
    at, cells = loads[0], grid.cells
    parted = grid.widths == head.last + 2
    if head.last + 1 >= len(cells.columns) or not parted.any():
        return grid, ()
    names = [f"c{i}" for i in range(at, head.last + 2)]
    texts = pl.DataFrame({f"c{i}": cells.columns[i].cells().fill_null("") for i in range(at, head.last + 2)})
    whole = pl.concat_str(pl.col(names[0]), pl.col(names[1]).str.strip_chars(), separator=",")
    hundredths = whole.str.replace(",", ".", literal=True).cast(pl.Float64, strict=False) * 100
    sound = [pl.col(names[0]).str.contains(_WHOLE), pl.col(names[1]).str.contains(_PART)]
    sound += [hundredths % _STEP == 0]
    sound += [
        pl.col(f"c{i + 1}").str.contains(_COUNTS[field])
        for i, field in fields.items()
        if i > at and field in _COUNTS
    ]
    mend = texts.select(pl.all_horizontal(sound).fill_null(False)).to_series() & parted
    if not mend.any():
        return grid, ()
    shifted = [whole.alias(names[0])]
    shifted += [pl.col(b).alias(a) for a, b in zip(names[1:], [*names[2:], None], strict=True) if b]
    moved = texts.select(*shifted, pl.lit("").alias(names[-1]))
    mended = [Texts.listed(moved.get_column(n).zip_with(mend, texts.get_column(n)).to_list()) for n in names]
    told = f"a decimal comma outside of quotes parted the load of {int(mend.sum())} rows, put together again"
    return replace(grid, cells=cells.with_columns(at, mended), widths=grid.widths - mend), (told,)
