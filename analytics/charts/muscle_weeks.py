"""Muscle weeks: sets of each muscle group week by week, all groups in small or one group at full size."""

from __future__ import annotations

import altair as alt
import polars as pl

from analytics.charts.figure import Figure, Said, figure_of
from analytics.charts.look import AIM, LINE, QUIET, dressed
from analytics.charts.report import Report
from analytics.charts.shape import Gap, over, shape

_WEEKS = 16
_TABLE_WEEKS = 6


@shape
def _weeks() -> alt.FacetChart:
    tips = [
        alt.Tooltip("name:N", title="muscle group"),
        alt.Tooltip("week:N", title="ISO week"),
        alt.Tooltip("sets:Q", title="fractional sets"),
        alt.Tooltip("direct:Q", title="direct sets"),
        alt.Tooltip("days:Q", title="days trained"),
        alt.Tooltip("tonnage:Q", title="tonnage, kg"),
    ]
    x = alt.X("week_end:T", title=None, axis=alt.Axis(format="%d %b", tickCount=2, grid=False))
    y = alt.Y("sets:Q", title=None, axis=alt.Axis(tickCount=3))
    aim = (
        alt.Chart()
        .transform_filter("isValid(datum.aim_low)")
        .mark_rect(color=AIM, aria=False)
        .encode(y=alt.Y("aim_low:Q"), y2=alt.Y2("aim_high:Q"))
    )
    bars = alt.Chart().mark_bar(color=LINE, width=5, description=Gap("say")).encode(x=x, y=y, tooltip=tips)
    small = alt.layer(aim, bars).properties(width=125, height=64)
    small.data = over("weeks").data
    title = "fractional sets a week; the band is the coach's aim"
    return dressed(small.facet(facet=alt.Facet("name:N", sort=Gap("order"), title=title), columns=6))


def weeks_figure(report: Report) -> Figure:
    """Small multiples: fractional sets of each muscle group in the last sixteen ISO weeks, over its aim."""
    weeks = report["muscle_weeks"]
    last = weeks["week_end"].unique().sort(descending=True).head(_WEEKS)
    aims = report["muscles"].select("muscle", "aim_low", "aim_high")
    newest = pl.col("week_end") == last.max()  # the band is drawn once, not once a week
    recent = (
        weeks.filter(pl.col("week_end").is_in(last.implode()))
        .join(aims, on="muscle", how="left", maintain_order="left")
        .with_columns(pl.when(newest).then(pl.col("aim_low", "aim_high")), name=report.named("muscle"))
    )
    names = (
        recent.group_by("name")
        .agg(pl.col("fractional_sets").sum())
        .sort("fractional_sets", "name", descending=[True, False])
    )
    say = f"Sets a week of each muscle group over the last {last.len()} weeks, beside the coach's aim."
    data = recent.select(
        "name",
        "week",
        "week_end",
        "days",
        "aim_low",
        "aim_high",
        sets="fractional_sets",
        direct="direct_sets",
        tonnage=pl.col("tonnage_kg").round(0),
    )
    table = recent.sort("name", "week").pivot(
        "week", index="name", values="fractional_sets", sort_columns=True
    )
    shown = table.select(
        pl.col("name").alias("muscle group"), *[pl.col(c).round(1) for c in table.columns[1:][-_TABLE_WEEKS:]]
    )
    gaps = {"order": names["name"].to_list()}
    return figure_of(_weeks, Said(sentence=say, table=shown), {"weeks": data}, gaps)


@shape
def _muscle() -> alt.LayerChart:
    x = alt.X("week_end:T", title=None, axis=alt.Axis(format="%d %b", tickCount=8, grid=False))
    tips = [
        alt.Tooltip("week:N", title="ISO week"),
        alt.Tooltip("sets:Q", title="fractional sets"),
        alt.Tooltip("low:Q", title="low reading"),
        alt.Tooltip("high:Q", title="high reading"),
    ]
    y = alt.Y("sets:Q", title="fractional sets a week")
    layers = [
        over("aim").mark_rect(color=AIM, aria=False).encode(y=alt.Y("aim_low:Q"), y2=alt.Y2("aim_high:Q")),
        over("weeks")
        .mark_bar(color=LINE, opacity=0.85, description=Gap("say"))
        .encode(x=x, y=y, tooltip=tips),
        over("weeks")
        .mark_rule(color=QUIET, strokeWidth=1.5, aria=False)
        .encode(x=x, y=alt.Y("low:Q"), y2=alt.Y2("high:Q")),
    ]
    return dressed(alt.layer(*layers), height=220)


def muscle_figure(report: Report, muscle: str) -> Figure:
    """One muscle group: fractional sets of each ISO week with the low and high reading, over the aim."""
    own = pl.col("muscle") == muscle
    weeks = report["muscle_weeks"].filter(own)
    judged = report["muscles"].filter(own)
    name = report.word(muscle)
    why = judged["why"][0] if judged.height else ""
    say = f"{name}: fractional sets a week over {weeks.height} weeks. {why}".strip()
    table = (
        weeks.sort("week", descending=True)
        .head(8)
        .select(
            pl.col("week").alias("ISO week"),
            pl.col("direct_sets").alias("direct sets"),
            pl.col("fractional_sets").alias("fractional sets"),
            pl.col("total_sets").alias("total sets"),
            pl.col("days").alias("days trained"),
            pl.col("mean_rir").round(1).alias("mean reps in reserve"),
        )
    )
    rows = {
        "aim": judged.select("aim_low", "aim_high").drop_nulls(),
        "weeks": weeks.select(
            "week", "week_end", sets="fractional_sets", low="fractional_low", high="fractional_high"
        ),
    }
    return figure_of(_muscle, Said(sentence=say, table=table), rows)
