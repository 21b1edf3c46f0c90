"""Repeats: how many equal sets a row stands for."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics.intake.cells.numbers import set_number
from analytics.intake.cells.shorthand import MOST_SETS
from analytics.intake.sheet.sheet import Sheet


def repeats(rows: pl.DataFrame, sheet: Sheet) -> np.ndarray:
    """How many equal sets each row stands for, from a column of set counts.

    A column named "sets" that runs 1, 2, 3 down the rows of most exercises of a day numbers the sets instead.
    """
    ones = np.ones(sheet.row.len(), dtype=np.int64)
    if "sets" not in sheet.fields:
        return ones
    counts = sheet.fields["sets"].spread(set_number, pl.Int64())
    number = pl.col("n")
    days = (
        rows.select("exercise", "date")
        .with_columns(counts.alias("n"))
        .group_by("exercise", "date", maintain_order=True)
        .agg(
            (number.max() > 1).alias("told"),
            ((number.first() == 1) & ((number.diff() == 1) | (number == 1)).all()).alias("runs"),
        )
        .filter("told")
    )
    if 2 * int(days.get_column("runs").sum()) > days.height:
        return ones
    return counts.fill_null(1).clip(1, MOST_SETS).to_numpy()
