"""Muscle: weekly sets of each muscle group beside the coach's aim, and beside the response of its lifts."""

from __future__ import annotations

from typing import Any

import altair as alt
import polars as pl

from analytics.charts.figure import Figure, Said, figure_of
from analytics.charts.look import (
    AIM,
    INK,
    MUSCLE_STATES,
    QUIET,
    dressed,
    state_colour,
    state_shape,
    state_words,
)
from analytics.charts.report import Report
from analytics.charts.shape import Gap, Rows, over, shape

_ROW = 24
_HEIGHT = 320
_LETTERS, _LINE, _LIFT = 0.3, 13, 7
"""A name beside a mark: its share of a phone's chart in width; pixels from name to name, and above it."""


def _word() -> pl.Expr:
    return pl.col("state").replace_strict(state_words(MUSCLE_STATES), default=pl.col("state"))


def _colour() -> alt.Color:
    return alt.Color("word:N", scale=state_colour(MUSCLE_STATES), title="state")


def _shape() -> alt.Shape:
    return alt.Shape("word:N", scale=state_shape(MUSCLE_STATES), title="state")


@shape
def _aims() -> alt.LayerChart:
    y = alt.Y("name:N", sort=Gap("order"), title=None)
    base = over("groups")
    title = "fractional sets a week"
    aim = (
        base.transform_filter("isValid(datum.aim_low)")
        .mark_bar(color=AIM, height=16, aria=False)
        .encode(y=y, x=alt.X("aim_low:Q", title=title), x2=alt.X2("aim_high:Q"))
    )
    reading = base.mark_rule(color=QUIET, strokeWidth=1.5, aria=False).encode(
        y=y, x=alt.X("low:Q"), x2=alt.X2("high:Q")
    )
    tips = [
        alt.Tooltip("name:N", title="muscle group"),
        alt.Tooltip("sets:Q", title="sets a week"),
        alt.Tooltip("low:Q", title="low reading"),
        alt.Tooltip("high:Q", title="high reading"),
        alt.Tooltip("aim_low:Q", title="aim, low"),
        alt.Tooltip("aim_high:Q", title="aim, high"),
        alt.Tooltip("word:N", title="state"),
    ]
    dot = base.mark_point(filled=True, size=80, opacity=1, description=Gap("say")).encode(
        y=y, x=alt.X("sets:Q"), color=_colour(), shape=_shape(), tooltip=tips
    )
    return dressed(alt.layer(aim, reading, dot), height=Gap("height"))


def aims_figure(report: Report) -> Figure:
    """One row per muscle group: sets a week with their low and high reading, over the band of the aim."""
    table = report["muscles"].with_columns(name=report.named("muscle"), word=_word())
    groups = table.select(
        "name",
        "word",
        "aim_low",
        "aim_high",
        sets="weekly_sets",
        low="weekly_sets_low",
        high="weekly_sets_high",
    )
    table = table.sort("weekly_sets", descending=True)
    order = table["name"].to_list()
    under = [name for name, state in table.select("name", "state").rows() if state == "underdosed"]
    say = (
        "Sets a week per muscle group, mean of the last four trained weeks, beside the aim (band); "
        "the thin line reaches from the low to the high way of counting. "
    ) + (f"Below the aim: {', '.join(under)}." if under else "No group is clearly below its aim.")
    columns = table.select(
        pl.col("name").alias("muscle group"),
        pl.col("weekly_sets").round(1).alias("sets a week"),
        pl.col("weekly_sets_low").round(1).alias("low reading"),
        pl.col("weekly_sets_high").round(1).alias("high reading"),
        pl.col("aim_low").alias("aim, low"),
        pl.col("aim_high").alias("aim, high"),
        pl.col("word").alias("state"),
    )
    gaps = {"order": order, "height": _ROW * max(len(order), 1)}
    return figure_of(_aims, Said(sentence=say, table=columns), {"groups": groups}, gaps)


@shape
def _response() -> alt.LayerChart:
    x = alt.X(
        "share:Q",
        title="sets a week, % of the middle of the aim",
        scale=alt.Scale(zero=False),
        axis=alt.Axis(tickCount=8),
    )
    y = alt.Y("slope:Q", title="response of its lifts, % a week")
    base = over("groups")
    tips = [
        "name:N",
        alt.Tooltip("sets:Q", title="sets a week"),
        alt.Tooltip("slope:Q", title="% a week"),
        alt.Tooltip("word:N", title="state"),
    ]
    layers = [
        over("middle").mark_rule(color=QUIET, strokeDash=[3, 3], aria=False).encode(x=alt.X("x:Q")),
        over("nothing").mark_rule(color=QUIET, strokeDash=[3, 3], aria=False).encode(y=alt.Y("y:Q")),
        base.mark_rule(color=QUIET, opacity=0.4, aria=False).encode(
            x=x, y=alt.Y("low:Q"), y2=alt.Y2("high:Q")
        ),
        base.mark_point(filled=True, size=90, opacity=1, description=Gap("say")).encode(
            x=x, y=y, color=_colour(), shape=_shape(), tooltip=tips
        ),
        *(
            over(f"names_{side}")
            .mark_text(align=side, dx=8 if side == "left" else -8, fontSize=11, color=INK, aria=False)
            .encode(x=x, y=alt.Y("beside:Q"), text=alt.Text("name:N"))
            for side in ("left", "right")
        ),
    ]
    return dressed(alt.layer(*layers), height=_HEIGHT)


def _names(groups: pl.DataFrame) -> dict[str, Rows]:
    """Where the names of the groups stand, by the end that is at the mark; `beside` is the height, % a week.

    Names at the right edge stand to the left of their mark; names that would touch, one below the other.
    """
    rows: list[dict[str, Any]] = groups.sort("slope", "name", descending=[True, False]).to_dicts()
    shares = [100.0, *(row["share"] for row in rows)]
    ends = [0.0, *(row[end] for row in rows for end in ("low", "high"))]
    width, pixel = (max(shares) - min(shares)) or 1.0, 1.1 * (max(ends) - min(ends)) / _HEIGHT
    placed: list[tuple[float, float]] = []
    names: dict[str, list[dict[str, Any]]] = {"left": [], "right": []}
    for row in rows:
        right = row["share"] > max(shares) - _LETTERS * width
        start = row["share"] - (_LETTERS * width if right else 0.0)
        near = [height for left, height in placed if abs(left - start) < _LETTERS * width]
        height = min([row["slope"] + _LIFT * pixel, *(one - _LINE * pixel for one in near)])
        placed.append((start, height))
        told = {"name": row["name"], "share": row["share"], "beside": height}
        names["right" if right else "left"].append(told)
    return {f"names_{side}": own for side, own in names.items()}


def response_figure(report: Report) -> Figure:
    """Work against response: sets a week as a share of the aim's middle, and the slope, per muscle group."""
    table = report["muscles"].filter(
        pl.col("response_pct_per_week").is_not_null() & pl.col("aim_low").is_not_null()
    )
    table = table.with_columns(
        name=report.named("muscle"),
        word=_word(),
        share=100 * pl.col("weekly_sets") / ((pl.col("aim_low") + pl.col("aim_high")) / 2),
    )
    groups = table.select(
        "name",
        "word",
        "share",
        slope="response_pct_per_week",
        low="response_low",
        high="response_high",
        sets="weekly_sets",
    )
    behind = [
        name
        for name, state in table.select("name", "state").rows()
        if state in ("underdosed", "not_responding")
    ]
    say = "Work against response per muscle group. " + (
        f"Behind: {', '.join(behind)}." if behind else "None stands out."
    )
    columns = table.sort("name").select(
        pl.col("name").alias("muscle group"),
        pl.col("weekly_sets").round(1).alias("sets a week"),
        pl.col("share").round(0).alias("% of the aim's middle"),
        pl.col("response_pct_per_week").round(2).alias("response, % a week"),
        pl.col("response_low").round(2).alias("low"),
        pl.col("response_high").round(2).alias("high"),
        pl.col("p_lagging").round(2).alias("probability of lagging"),
        pl.col("word").alias("state"),
    )
    digits = ("response, % a week", "low", "high", "probability of lagging")
    decimals = dict.fromkeys(digits, 2) | {"% of the aim's middle": 0}
    lines: dict[str, Rows] = {"middle": [{"x": 100}], "nothing": [{"y": 0}]}
    rows = {"groups": groups, **_names(groups), **lines}
    return figure_of(_response, Said(sentence=say, table=columns, decimals=decimals), rows)
