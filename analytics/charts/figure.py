"""Figure: one chart with its sentence for those who cannot see it and its small table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import altair as alt
import polars as pl

from analytics.charts.shape import Rows, Spec, filled


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A Vega-Lite `spec` that carries its one-sentence `description`, and the `table` behind it.

    The table's columns are named as a reader sees them, units included; `decimals` says how many digits a
    column needs when it needs another number than one.
    """

    spec: Spec
    description: str
    table: pl.DataFrame
    decimals: Mapping[str, int] = field(default_factory=dict)

    @property
    def chart(self) -> Any:
        """The same as an Altair chart, checked against the schema: to save it, or to go on from it."""
        return alt.Chart.from_dict(self.spec)

    def to_dict(self, validate: bool = False) -> Spec:
        """The specification, as an Altair chart gives it."""
        return dict(self.chart.to_dict()) if validate else self.spec


@dataclass(frozen=True, kw_only=True)
class Said:
    """What a figure says beside its picture: its sentence, its table, and the digits of its columns."""

    sentence: str
    table: pl.DataFrame
    decimals: Mapping[str, int] = field(default_factory=dict)


def figure_of(
    outline: Spec, said: Said, rows: Mapping[str, Rows], gaps: Mapping[str, Any] | None = None
) -> Figure:
    """The shape with its rows and gaps; the sentence describes the chart and its main mark, the gap `say`."""
    spec = filled(outline, rows, {"say": said.sentence, **(gaps or {})})
    return Figure(
        spec={**spec, "description": said.sentence},
        description=said.sentence,
        table=said.table,
        decimals=said.decimals,
    )
