"""Marks: rows of a table as a chart's own data, numbers rounded to what a reader can use."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import polars as pl
from polars import selectors


def data_of(rows: pl.DataFrame | Sequence[dict[str, Any]]) -> pl.DataFrame:
    """Data for a chart: floats to two decimals, days as ISO text.

    A frame and not values inside the specification: Altair copies what is inside at every step.
    """
    frame = rows if isinstance(rows, pl.DataFrame) else pl.DataFrame(rows, infer_schema_length=None)
    return frame.with_columns(selectors.float().round(2), selectors.date().dt.strftime("%Y-%m-%d"))
