"""Figures, tables and words: what a report notebook displays, and what the page template understands.

A notebook shows ``figure(chart, frame)``, ``table(frame)``, ``words(text)``, ``closed(title, text)`` and what
``folded(title, shown)`` gives.  The page draws these kinds of output and plain text; any other HTML in a
notebook is not passed on, so text from an export cannot become markup.
"""

from __future__ import annotations

import html
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Protocol

import polars as pl

CHART_MIME = "application/vnd.vegalite.v5+json"
"""JupyterLab 4 draws this type only; the specification inside is Altair's own, whatever its version."""
NO_MENU = {"embedOptions": {"actions": False}}
"""Takes away JupyterLab's menu on a chart: one of its entries hands the chart to a page elsewhere."""
TABLE_MIME = "application/vnd.roster.table+json"
CLOSED_MIME = "application/vnd.roster.closed+json"
FOLD_MIME = "application/vnd.roster.fold+json"
"""Begins what a page keeps folded under a title; with an empty title it ends that."""

_LONG_TEXT = 40


class Chart(Protocol):
    """An Altair chart: anything that gives its specification as a dictionary."""

    def to_dict(self, validate: bool = ...) -> dict[str, Any]:
        """The Vega-Lite specification."""


@dataclass(frozen=True)
class Shown:
    """One displayed thing: its MIME bundle.  Jupyter and the page take from it what they can draw."""

    bundle: Mapping[str, Any]

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, Any]:
        return dict(self.bundle)


@dataclass(frozen=True, kw_only=True)
class Look:
    """How a table looks.

    `labels` maps column to heading (unit included), `decimals` column to digits after the point (default 1),
    `links` column to an address with ``{}`` for the cell's text, relative to the page.  `sortable` adds
    sorting and a filter box on the page.
    """

    caption: str = ""
    labels: Mapping[str, str] = field(default_factory=dict)
    decimals: Mapping[str, int] = field(default_factory=dict)
    links: Mapping[str, str] = field(default_factory=dict)
    sortable: bool = False


def words(text: str) -> Shown:
    """Markdown text; raw HTML in it is shown as text, headings start below the page's own."""
    return Shown({"text/markdown": text, "text/plain": text})


def closed(title: str, text: str) -> Shown:
    """Markdown text that a page keeps folded under its title until it is opened."""
    content = {"title": title, "text": text}
    return Shown({CLOSED_MIME: content, "text/markdown": f"## {title}\n\n{text}", "text/plain": text})


def folded(title: str, shown: Sequence[Shown]) -> list[Shown]:
    """What is shown, kept folded under its title on a screen until it is opened; a print has it open."""
    begin = Shown({FOLD_MIME: {"title": title}, "text/plain": title})
    return [begin, *shown, Shown({FOLD_MIME: {"title": ""}, "text/plain": ""})]


def table(frame: pl.DataFrame, look: Look | None = None) -> Shown:
    """A table of the frame's columns, in order."""
    content = table_content(frame, look or Look())
    return Shown({TABLE_MIME: content, "text/html": _as_html(content), "text/plain": _as_text(content)})


def figure(chart: Chart, frame: pl.DataFrame | None = None, look: Look | None = None) -> Shown:
    """A chart and, folded under it, the table of its numbers.

    The chart's `description` is the caption and what a screen reader says.  The specification is not checked
    against the schema again: that takes a third of a report's time, and the tests of the charts do it.
    """
    spec = {**chart.to_dict(validate=False), "usermeta": NO_MENU}
    bundle: dict[str, Any] = {CHART_MIME: spec, "text/plain": str(spec.get("description", "Chart"))}
    if frame is not None:
        bundle[TABLE_MIME] = table_content(frame, look or Look())
    return Shown(bundle)


def table_content(frame: pl.DataFrame, look: Look) -> dict[str, Any]:
    """The table as JSON values: caption, columns (label, kind), and rows of cells, which are JSON text.

    A cell is ``[text]``, ``[text, sort value]`` or ``[text, sort value or None, address]``.
    """
    columns, cells = [], []
    for name in frame.columns:
        series = frame[name]
        digits, link = look.decimals.get(name, 1), look.links.get(name)
        cells.append([_cell(value, digits, link) for value in series])
        columns.append({"label": look.labels.get(name, name.replace("_", " ")), "kind": _kind(series)})
    rows = [list(row) for row in zip(*cells, strict=True)] if cells else []
    text = json.dumps(rows, ensure_ascii=False, separators=(",", ":"))
    return {"caption": look.caption, "columns": columns, "rows": text, "sortable": look.sortable}


def rows_of(content: Mapping[str, Any]) -> list[list[list[Any]]]:
    """The rows of cells of a table's content."""
    rows: list[list[list[Any]]] = json.loads(content["rows"])
    return rows


def _kind(series: pl.Series) -> str:
    """What a column needs on a page: number and date stay on one line, long text gets room."""
    if series.dtype.is_numeric():
        return "number"
    if series.dtype == pl.Date:
        return "date"
    long = series.dtype == pl.String and (series.str.len_chars().max() or 0) > _LONG_TEXT  # type: ignore[operator]
    return "long" if long else "text"


def _cell(value: Any, digits: int, link: str | None) -> list[Any]:
    text = _text(value, digits)
    number = None
    if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
        number = round(value, 6)
    if link is not None and value is not None:
        return [text, number, link.format(value)]
    return [text] if number is None else [text, number]


def _text(value: Any, digits: int) -> str:
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        shown = f"{value:.{digits}f}"
        return shown.replace("-", "−") if float(shown) else shown.removeprefix("-")
    if isinstance(value, int):
        return str(value).replace("-", "−")
    return value.isoformat() if isinstance(value, date) else str(value)


def _as_html(content: Mapping[str, Any]) -> str:
    head = "".join(f"<th>{html.escape(column['label'])}</th>" for column in content["columns"])
    body = "".join(
        "<tr>" + "".join(f"<td>{html.escape(cell[0])}</td>" for cell in row) + "</tr>"
        for row in rows_of(content)
    )
    caption = html.escape(content["caption"])
    return f"<table><caption>{caption}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _as_text(content: Mapping[str, Any]) -> str:
    lines = [[column["label"] for column in content["columns"]]]
    lines += [[cell[0] for cell in row] for row in rows_of(content)]
    return "\n".join(" | ".join(line) for line in lines)
