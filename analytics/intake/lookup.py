"""Lookup: each distinct text of a column read once, and its values spread back over the rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import polars as pl


def distinct(column: pl.Series) -> list[str]:
    """The distinct texts of a column, sorted, without nulls."""
    return sorted(column.unique().drop_nulls().cast(pl.String).to_list())


def spread(
    column: pl.Series, read: Callable[[str], Sequence[object]], schema: dict[str, pl.DataType]
) -> pl.DataFrame:
    """One row per row of `column` (Categorical): what `read` makes of its text; null cells give null values."""
    present = column.unique().drop_nulls()
    texts = present.cast(pl.String).to_list()
    values = [tuple(read(text)) for text in texts]
    table = pl.DataFrame([*values, tuple(None for _ in schema)], schema=schema, orient="row")
    codes = present.to_physical().to_numpy()
    last = int(codes.max()) + 1 if len(codes) else 0
    index = np.full(last + 1, len(texts), dtype=np.uint32)
    index[codes] = np.arange(len(texts), dtype=np.uint32)
    rows = index[column.to_physical().fill_null(last).to_numpy()]
    picked = pl.Series(rows)
    return table.select(pl.all().gather(picked))
