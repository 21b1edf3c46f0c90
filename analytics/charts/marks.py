"""Marks: rows of a table as a chart's own data, numbers rounded to what a reader can use."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

import altair as alt
import polars as pl


def data_of(rows: pl.DataFrame | Iterable[Mapping[str, Any]]) -> alt.InlineData:
    """Inline data for a chart: floats to two decimals, days as ISO text."""
    records = rows.to_dicts() if isinstance(rows, pl.DataFrame) else rows
    return alt.InlineData(values=[{key: _plain(value) for key, value in row.items()} for row in records])


def _plain(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 2)
    return value.isoformat() if isinstance(value, date) else value
