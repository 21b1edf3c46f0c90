"""Linked: a lift's chart above the chart on which stretches are marked; the first stretch is its window."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from analytics.charts.figure import Figure
from analytics.charts.lift import lift_figure
from analytics.charts.period import FIRST, marked_figure
from analytics.charts.report import Report
from analytics.charts.shape import Spec

_BELOW = 170
"""Height of the lower chart, in pixels."""
_WHOLE = ("$schema", "config", "datasets", "params", "description")
"""What a specification says once, of whatever it is composed."""


def linked_figure(report: Report, exercise: str, width: int) -> Figure:
    """Both charts of a lift; dragging over the lower one sets the days that the upper one shows.

    Nothing marked shows all days.  The width is fixed, as composed charts cannot fit their place.
    """
    above, below = lift_figure(report, exercise), marked_figure(report, exercise)
    charts = [{k: v for k, v in one.spec.items() if k not in _WHOLE} for one in (above, below)]
    window = _windowed(charts[0])
    spec: Spec = {
        **{key: below.spec[key] for key in _WHOLE if key in below.spec},
        "datasets": {**above.spec["datasets"], **below.spec["datasets"]},
        "description": above.description,
        "vconcat": [window | {"width": width}, charts[1] | {"width": width, "height": _BELOW}],
    }
    return Figure(spec=spec, description=above.description, table=above.table, decimals=above.decimals)


def _windowed(chart: Spec) -> Spec:
    """The chart with the first stretch as the window of its days, and nothing drawn outside of it."""
    layers = [_layer(layer) for layer in chart["layer"]]
    return {**chart, "layer": layers}


def _layer(layer: Spec) -> Spec:
    """The layer within the window: Vega-Lite clips it there, unless it lies above the chart."""
    encoding = {name: _limited(value) if name == "x" else value for name, value in layer["encoding"].items()}
    if not any(_is_outside(value) for value in encoding.values()):
        return {**layer, "encoding": encoding}
    mark = {**layer["mark"], "clip": False}
    return {**layer, "encoding": encoding, "mark": mark, "transform": list(_cut(encoding))}


def _limited(channel: Any) -> Any:
    """A channel of days whose limits are those of the first stretch; every layer has to say so."""
    if not isinstance(channel, dict) or channel.get("type") != "temporal":
        return channel
    return {**channel, "scale": {**channel.get("scale", {}), "domain": {"param": FIRST, "encoding": "x"}}}


def _is_outside(channel: Any) -> bool:
    """Whether a mark lies above the chart, where it cannot be clipped."""
    value = channel.get("value") if isinstance(channel, dict) else None
    return isinstance(value, int | float) and value < 0


def _cut(encoding: Spec) -> Iterator[Spec]:
    """Transforms that move the ends of stretches into the window, and leave out what lies beside it."""
    start, end = f"{FIRST}.date[0]", f"{FIRST}.date[1]"
    fields = [encoding[channel]["field"] for channel in ("x", "x2") if channel in encoding]
    first, last = f"toDate(datum['{fields[0]}'])", "toDate(datum.to)"
    beside = (
        f"isValid(datum.to) ? {last} <= {start} || {first} >= {end} : {first} < {start} || {first} > {end}"
    )
    yield {"filter": f"!{FIRST}.date || !({beside})"}
    for field in fields:
        day = f"toDate(datum['{field}'])"
        yield {"calculate": f"{FIRST}.date ? clamp({day}, {start}, {end}) : {day}", "as": field}
