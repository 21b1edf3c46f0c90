"""Panel: the outline of a lift's chart, from the shaded phases at the back to the decisions at its foot."""

from __future__ import annotations

from typing import Any

import altair as alt

from analytics.charts.look import BAND, DASHES, INK, LINE, QUIET, STATES, dressed
from analytics.charts.shape import Gap, over, shape

_LANE = -9
"""Where the line of answers lies, in pixels above the chart."""


def _shaded(rows: str, title: str, opacity: float, y: Any) -> list[alt.Chart]:
    """Stretches of days behind everything, each with its word."""
    start = alt.X("from:T")
    return [
        over(rows)
        .mark_rect(aria=False, opacity=opacity)
        .encode(
            x=start,
            x2=alt.X2("to:T"),
            color=alt.Color("colour:N", scale=None),
            tooltip=[alt.Tooltip("word:N", title=title)],
        ),
        over(rows)
        .mark_text(align="left", baseline="bottom", dx=3, fontSize=10, color=QUIET, aria=False)
        .encode(x=start, y=y, text=alt.Text("word:N")),
    ]


def _answered() -> list[alt.Chart]:
    """The answer of every week as a line above the chart, told by word and dash."""
    start, lane = alt.X("from:T"), alt.value(_LANE)
    dash = alt.Scale(domain=[STATES[state][2] for state in DASHES], range=list(DASHES.values()))
    return [
        over("answers")
        .mark_rule(strokeWidth=4, aria=False)
        .encode(
            x=start,
            x2=alt.X2("to:T"),
            y=lane,
            color=alt.Color("colour:N", scale=None),
            strokeDash=alt.StrokeDash("word:N", scale=dash, legend=None),
            tooltip=[
                alt.Tooltip("word:N", title="said at the week's end"),
                alt.Tooltip("day:T", title="first on", format="%d %b %Y"),
            ],
        ),
        over("answers")
        .mark_text(align="left", baseline="bottom", dy=-4, fontSize=11, color=INK, aria=False)
        .encode(x=start, y=lane, text=alt.Text("label:N")),
        over("present")
        .mark_text(align=Gap("present_side"), baseline="bottom", dy=-4, fontSize=11, color=INK, aria=False)
        .encode(x=alt.X("at:T"), y=lane, text=alt.Text("label:N")),
    ]


@shape
def PANEL() -> alt.LayerChart:
    """Layers of a lift's chart; those without rows are left out."""
    # What differs from lift to lift stands in few layers: a page says the others once for all lifts.
    day, kg, low = alt.X("date:T"), alt.Y("kg:Q"), alt.Y("low:Q")
    days = alt.X(
        "date:T",
        title=None,
        scale=alt.Scale(domain=Gap("days")),
        axis=alt.Axis(format="%d %b", tickCount=8),
    )
    level = alt.Y(
        "kg:Q",
        title=Gap("level"),
        scale=alt.Scale(zero=False, nice=True, domain=Gap("reach")),
        axis=alt.Axis(labelExpr=Gap("labels"), tickCount=6),
    )
    onset = over("onset")
    layers = [
        *_shaded("phases", "plan", 1, alt.value(10)),
        *_shaded("calendar", "calendar", 0.7, alt.value("height")),
        *_answered(),
        over("line")
        .mark_area(color=BAND, opacity=0.45, aria=False)
        .encode(x=day, y=low, y2=alt.Y2("high:Q")),
        over("line").mark_line(color=LINE, strokeWidth=2.5, description=Gap("say")).encode(x=days, y=level),
        over("ahead")
        .mark_area(color=BAND, opacity=0.2, aria=False)
        .encode(x=day, y=low, y2=alt.Y2("high:Q")),
        over("ahead").mark_line(color=LINE, strokeDash=[4, 4], aria=False).encode(x=day, y=kg),
        over("stage").mark_rule(color=INK, strokeWidth=2, aria=False).encode(x=day),
        over("stage")
        .mark_text(color=INK, align="right", dx=-5, fontSize=12, aria=False)
        .encode(x=day, y=alt.value(24), text=alt.Text("word:N")),
        over("points")
        .mark_point(filled=True, color=INK, opacity=0.75, aria=False)
        .encode(
            x=day,
            y=kg,
            size=alt.Size("weight:Q", scale=alt.Scale(range=[12, 70]), legend=None),
            tooltip=[
                alt.Tooltip("date:T", title="day", format="%d %b %Y"),
                alt.Tooltip("kg:Q", title="estimated 1RM, kg"),
                alt.Tooltip("formula:Q", title="by the published curve, kg"),
                alt.Tooltip("se:Q", title="standard error, kg"),
                alt.Tooltip("set:N", title="top set"),
                alt.Tooltip("rir:N", title="reps in reserve"),
                alt.Tooltip("file:N", title="file"),
                alt.Tooltip("row:Q", title="row in the file"),
            ],
        ),
        onset.mark_rule(color=Gap("onset"), strokeWidth=2, strokeDash=[2, 2], aria=False).encode(x=day),
        onset.mark_text(
            color=Gap("onset"),
            align=Gap("onset_side"),
            dx=Gap("onset_shift"),
            dy=-4,
            fontSize=12,
            fontWeight="bold",
            aria=False,
        ).encode(x=day, y=alt.value(12), text=alt.Text("words:N")),
        over("decisions")
        .mark_point(shape="diamond", size=90, filled=True, color=INK, aria=False)
        .encode(
            x=day,
            y=alt.value("height"),
            tooltip=[
                alt.Tooltip("date:T", title="decided", format="%d %b %Y"),
                alt.Tooltip("what:N", title="what"),
                alt.Tooltip("why:N", title="why"),
            ],
        ),
    ]
    return dressed(alt.layer(*layers), height=Gap("height"))
