"""Efforts: a list of RIR or RPE beside the sets of one row, ``3-2-1``, to one for each set."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics.intake.cells.effortlist import effort_list
from analytics.intake.sheet.sheet import Sheet


def with_efforts(rows: pl.DataFrame, sheet: Sheet, at: np.ndarray, total: np.ndarray) -> pl.DataFrame:
    """`rows`, one a set, with the efforts listed beside as many sets; `at`: the row of the sheet of each set.

    `total`: the sets of each row of the sheet.  A list of another length says nothing; it stays in the note.
    """
    for field in ("rir", "rpe"):
        column = sheet.fields.get(field)
        if column is None:
            continue
        read = enumerate(effort_list(text or "", field) for text in column.texts)
        lists = {i: found for i, found in read if found}
        if not lists:
            continue
        ids = column.ids.to_numpy()[at]
        place = rows.get_column("piece").to_numpy()
        told = [
            lists[text][piece] if text in lists and len(lists[text]) == count else None
            for text, piece, count in zip(ids.tolist(), place.tolist(), total[at].tolist(), strict=True)
        ]
        rows = rows.with_columns(pl.coalesce(pl.Series(told, dtype=pl.Float64), "rir").alias("rir"))
    return rows
