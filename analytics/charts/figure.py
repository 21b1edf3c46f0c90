"""Figure: one chart with its sentence for those who cannot see it and its small table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import polars as pl


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A `chart` that carries its one-sentence `description`, and the `table` behind it.

    The table's columns are named as a reader sees them, units included; `decimals` says how many digits a
    column needs when it needs another number than one.
    """

    chart: Any
    description: str
    table: pl.DataFrame
    decimals: Mapping[str, int] = field(default_factory=dict)


def figure_of(
    chart: Any, description: str, table: pl.DataFrame, decimals: Mapping[str, int] | None = None
) -> Figure:
    """The figure, with the sentence written into the chart as its description."""
    chart = chart.copy(deep=False)
    chart.description = description
    return Figure(chart=chart, description=description, table=table, decimals=decimals or {})
