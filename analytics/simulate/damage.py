"""Damage: what is broken on purpose in the demo - rows that must be set aside, and one ten-fold typo."""

from __future__ import annotations

import csv
import io

import polars as pl

from analytics.simulate.style import Style


def broken_rows(sets: pl.DataFrame, style: Style, athlete: str) -> str:
    """Rows to add to this athlete's row-per-set file; each must be set aside, for one reason each."""
    day = sets["date"].max().strftime(style.day)  # type: ignore[union-attr]
    out = io.StringIO()
    writer = csv.writer(out, delimiter=style.delimiter, lineterminator=style.line_end)
    width = len(export_head(sets, style))
    rows = {
        "heron": [
            ["2026-06-31", "Lat pulldown", "1", "60", "10"],
            [day, "Lat pulldown", "9", "6O kg?", "10"],
            [day, "Lat pulldown", "10", "60", "1200"],
        ],
        "lapwing": [
            [day, "", "1", "40", "10"],
            [day, "Leg press", "9", "-120", "8"],
            ["2062-11-20T17:40:00+01:00", "Leg press", "1", "120", "8"],
        ],
    }[athlete]
    writer.writerows([*row, *[""] * (width - len(row))] for row in rows)
    return out.getvalue()


def export_head(sets: pl.DataFrame, style: Style) -> list[str]:
    """The column heads of this athlete's row-per-set file."""
    from analytics.simulate.exports import export_text

    return next(csv.reader(io.StringIO(export_text(sets.head(0), style)), delimiter=style.delimiter))


def with_typo(sets: pl.DataFrame) -> pl.DataFrame:
    """The sets with one load ten times too high: the heaviest below 100 kg, two sessions ago."""
    days = sets["date"].unique().sort()
    spot = (
        sets.with_row_index("row")
        .filter(pl.col("date") == days[max(len(days) - 3, 0)], pl.col("role") == "working")
        .filter(pl.col("load_kg") < 100, pl.col("added_kg").is_null())
        .sort("load_kg", "row", descending=[True, False])
    )
    if spot.is_empty():
        return sets
    here = pl.int_range(pl.len()) == spot["row"][0]
    return sets.with_columns(load_kg=pl.when(here).then(pl.col("load_kg") * 10).otherwise("load_kg"))
