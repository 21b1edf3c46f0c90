"""Figure: one chart with its sentence for those who cannot see it and its small table."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from html import escape
from typing import Any

import polars as pl

VEGA_LITE_MIME = "application/vnd.vegalite.v6+json"


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A chart, its one-sentence `description`, and the `table` behind it, column names as a reader sees them.

    A notebook shows it by naming it: the display data hold the chart's specification and the table as HTML.
    """

    chart: Any
    description: str
    table: pl.DataFrame

    def spec(self) -> dict[str, Any]:
        """The Vega-Lite specification, description included."""
        spec: dict[str, Any] = self.chart.to_dict(format="vega-lite", context={})
        spec["description"] = self.description
        return spec

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, Any]:
        return {
            VEGA_LITE_MIME: self.spec(),
            "text/html": table_html(self.table),
            "text/plain": self.description,
        }


@dataclass(frozen=True, kw_only=True)
class Listing:
    """A table for a page; `sortable` ones get a filter and sort buttons there."""

    table: pl.DataFrame
    caption: str = ""
    sortable: bool = False

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, Any]:
        return {
            "text/html": table_html(self.table, caption=self.caption, sortable=self.sortable),
            "text/plain": self.caption,
        }


def table_html(frame: pl.DataFrame, *, caption: str = "", sortable: bool = False) -> str:
    """The frame as an HTML table, every cell escaped; numbers keep at most two decimals, nulls are empty."""
    head = "".join(f'<th scope="col">{escape(name)}</th>' for name in frame.columns)
    numeric = [dtype.is_numeric() for dtype in frame.dtypes]
    rows = []
    for values in frame.iter_rows():
        first, *rest = (_cell(value) for value in values)
        marked = zip(numeric[1:], rest, strict=True)
        cells = "".join(
            f"<td class=n>{cell}</td>" if number else f"<td>{cell}</td>" for number, cell in marked
        )
        rows.append(f'<tr><th scope="row">{first}</th>{cells}</tr>')
    title = f"<caption>{escape(caption)}</caption>" if caption else ""
    kind = ' class="sortable"' if sortable else ""
    return f"<table{kind}>{title}<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table>"


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value + 0.0:.2f}".rstrip("0").rstrip(".")
    if isinstance(value, date):
        return f"{value:%d %b %Y}"
    return escape(str(value))
