"""Body: bodyweight and girths from the check-ins, over the phases of the plan."""

from __future__ import annotations

import altair as alt
import polars as pl

from analytics.charts.figure import Figure, Said, figure_of
from analytics.charts.look import INK, LINE, dressed
from analytics.charts.pounds import load_labels, load_title
from analytics.charts.report import Report
from analytics.charts.shape import Gap, over, shape


@shape
def _bodyweight() -> alt.LayerChart:
    x = alt.X("date:T", title=None, axis=alt.Axis(format="%d %b", tickCount=8))
    scale = alt.Scale(zero=False)
    points = (
        over("checkins")
        .mark_point(filled=True, size=24, color=INK, opacity=0.6, aria=False)
        .encode(
            x=x,
            y=alt.Y("kg:Q", title=Gap("level"), scale=scale, axis=alt.Axis(labelExpr=Gap("labels"))),
            tooltip=[alt.Tooltip("date:T"), alt.Tooltip("kg:Q", title="kg")],
        )
    )
    line = (
        over("trend")
        .mark_line(color=LINE, strokeWidth=2, description=Gap("say"))
        .encode(x=x, y=alt.Y("kg:Q", scale=scale))
    )
    return dressed(alt.layer(points, line), height=180)


def bodyweight_figure(report: Report) -> Figure:
    """Check-in bodyweight as points, its trend as a line."""
    seen = report["checkins"].filter(pl.col("measure") == "bodyweight").sort("date")
    trend = report["bodyweight"].sort("date")
    say = (
        f"Bodyweight at {seen.height} check-ins, from {seen['value'][0]:.1f} to {seen['value'][-1]:.1f} kg; "
        f"the line is the trend through them, now {trend['trend_kg'][-1]:.1f} kg."
    )
    table = (
        trend.tail(8)
        .reverse()
        .select(
            pl.col("date").alias("day"),
            pl.col("trend_kg").round(1).alias("bodyweight trend, kg"),
            pl.col("pct_per_week").round(2).alias("% a week"),
            pl.col("phase"),
        )
    )
    rows = {"checkins": seen.select("date", kg="value"), "trend": trend.select("date", kg="trend_kg")}
    gaps = {"level": load_title(report, "bodyweight"), "labels": load_labels(report)}
    return figure_of(_bodyweight, Said(sentence=say, table=table), rows, gaps)


@shape
def _girths() -> alt.FacetChart:
    chart = (
        over("girths")
        .mark_line(point=alt.OverlayMarkDef(size=20, filled=True), description=Gap("say"))
        .encode(
            x=alt.X("date:T", title=None, axis=alt.Axis(format="%d %b", tickCount=3)),
            y=alt.Y("cm:Q", title="cm", scale=alt.Scale(zero=False), axis=alt.Axis(tickCount=4)),
            strokeDash=alt.StrokeDash("side:N", title="side"),
            color=alt.value(LINE),
            tooltip=["name:N", "side:N", alt.Tooltip("date:T", title="day"), alt.Tooltip("cm:Q", title="cm")],
        )
        .properties(width=180, height=90)
        .facet(facet=alt.Facet("name:N", title=None), columns=3)
        .resolve_scale(y="independent")
    )
    return dressed(chart)


def girths_figure(report: Report) -> Figure:
    """Girths as small multiples, left and right as separate lines."""
    girths = (
        report["checkins"]
        .filter(pl.col("unit") == "cm")
        .with_columns(name=pl.col("measure").str.replace_all("_", " "), side=pl.col("side").fill_null("both"))
    )
    say = f"Girths at {girths['date'].n_unique()} check-ins: {', '.join(girths['name'].unique().sort())}."
    ends = (
        girths.sort("date")
        .group_by("name", "side", maintain_order=True)
        .agg(first=pl.col("value").first(), last=pl.col("value").last(), checkins=pl.len())
    )
    table = ends.sort("name", "side").select(
        pl.col("name").alias("girth"),
        "side",
        pl.col("first").round(1).alias("first, cm"),
        pl.col("last").round(1).alias("last, cm"),
        "checkins",
    )
    rows = {"girths": girths.select("date", "name", "side", cm="value")}
    return figure_of(_girths, Said(sentence=say, table=table), rows)
