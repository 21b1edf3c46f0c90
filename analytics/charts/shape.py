"""Shape: what of a chart is the same in every report, made by Altair once; a report fills it.

Altair needs milliseconds for a chart, and a report has twenty.  So the charts of this package are built when
their module is imported, over named data without rows, with a `Gap` wherever a report has its own word or
limit; drawing one is then a copy of a few dictionaries.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import altair as alt
import polars as pl
from altair.utils.schemapi import debug_mode

Spec = dict[str, Any]
Rows = pl.DataFrame | Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Gap:
    """A place in a shape that every report fills for itself."""

    name: str


def over(rows: str) -> Any:
    """A chart over the rows of that name; they are JSON text, as a notebook copies one string faster."""
    return alt.Chart(alt.NamedData(name=rows, format=alt.JsonDataFormat(type="json")))


def shape(draw: Callable[[], Any]) -> Spec:
    """The specification of the chart that `draw` makes; a gap is no value that Altair could check."""
    with debug_mode(False):
        spec: Spec = draw().to_dict(validate=False)
    return spec


def filled(outline: Spec, rows: Mapping[str, Rows], gaps: Mapping[str, Any]) -> Spec:
    """A specification with its rows and without gaps; a layer over named data without rows is left out."""
    values = {name: plain(own) for name, own in rows.items() if len(own)}
    data = {name: json.dumps(own, ensure_ascii=False, separators=(",", ":")) for name, own in values.items()}
    spec: Spec = _put(outline, gaps, data)
    return {**spec, "datasets": data}


def _put(part: Any, gaps: Mapping[str, Any], data: Mapping[str, Any]) -> Any:
    if isinstance(part, dict):
        return {
            key: [_put(layer, gaps, data) for layer in value if _has_rows(layer, data)]
            if key == "layer"
            else _put(value, gaps, data)
            for key, value in part.items()
        }
    if isinstance(part, list):
        return [_put(one, gaps, data) for one in part]
    return gaps[part.name] if isinstance(part, Gap) else part


def _has_rows(layer: Spec, data: Mapping[str, Any]) -> bool:
    source = layer.get("data", {})
    return "name" not in source or source["name"] in data


def plain(rows: Rows) -> list[dict[str, Any]]:
    """Rows as JSON values: floats to two decimals (logarithms to six), days as ISO text, no infinities."""
    if not isinstance(rows, pl.DataFrame):
        return [{name: _value(value, _digits(name)) for name, value in row.items()} for row in rows]
    columns = [
        _values(series) if series.dtype.is_float() or series.dtype == pl.Date else series.to_list()
        for series in rows.iter_columns()
    ]
    names = rows.columns
    return [dict(zip(names, values, strict=True)) for values in zip(*columns, strict=True)]


def _values(series: pl.Series) -> list[Any]:
    digits = _digits(series.name)
    return [_value(value, digits) for value in series.to_list()]


def _digits(name: str) -> int:
    return 6 if name.startswith("log_") else 2


def _value(value: Any, digits: int) -> Any:
    if isinstance(value, float):
        return round(value, digits) if math.isfinite(value) else None
    return value.isoformat() if isinstance(value, date) else value
