"""Effort: how drop chains fall off from their head, and the loads and repetitions behind an estimate."""

from __future__ import annotations

from datetime import timedelta

import altair as alt
import numpy as np
import polars as pl

from analytics.charts.figure import Figure, Said, figure_of
from analytics.charts.look import INK, LINE, dressed
from analytics.charts.pounds import load_labels, load_title
from analytics.charts.report import Report
from analytics.charts.shape import Gap, over, shape
from analytics.schema import HARD_ROLES
from analytics.strength.curve import log_ratio

_CURVE_DAYS = 56
_CURVE_REPS = 20
_LINES = (LINE, "#b8860b", "#a33b20", "#7a3b7a", "#4d7a4d", "#6b6862")
_DASHES = ([1, 0], [8, 3], [2, 2], [8, 3, 2, 3], [4, 2], [1, 4])
_MOST_LIFTS = 6
FEWEST_CHAINS = 3
"""An exercise with fewer drop chains says nothing about a habit."""


def chains(report: Report) -> pl.DataFrame:
    """Drop chains averaged: exercise, step (0 is the head), chains, load and reps as % of the head's."""
    linked = report["sets"].filter(pl.col("chain").is_not_null() & pl.col("load_kg").is_not_null())
    key = ["exercise", "date", "position", "chain", "side"]
    steps = linked.sort(*key[:4], "set_number").with_columns(
        step=pl.int_range(pl.len()).over(key),
        load_pct=100 * pl.col("load_kg") / pl.col("load_kg").first().over(key),
        reps_pct=100 * pl.col("reps") / pl.col("reps").first().over(key),
        length=pl.len().over(key),
    )
    whole = steps.filter((pl.col("length") > 1) & pl.col("load_pct").is_finite())
    return (
        whole.group_by("exercise", "step")
        .agg(chains=pl.len(), load_pct=pl.col("load_pct").mean(), reps_pct=pl.col("reps_pct").mean())
        .sort("exercise", "step")
    )


@shape
def _drops() -> alt.FacetChart:
    key = alt.Legend(symbolType="stroke", symbolSize=400, symbolStrokeWidth=2)
    chart = (
        over("steps")
        .mark_line(point=alt.OverlayMarkDef(size=45, filled=True), strokeWidth=2, description=Gap("say"))
        .encode(
            x=alt.X("step:O", title="set of the chain (0 is the head)", axis=alt.Axis(labelAngle=0)),
            y=alt.Y("pct:Q", title="% of the head set", scale=alt.Scale(zero=False)),
            color=alt.Color(
                "name:N",
                scale=alt.Scale(domain=Gap("names"), range=Gap("colours")),
                title=None,
                legend=key,
            ),
            strokeDash=alt.StrokeDash(
                "name:N", scale=alt.Scale(domain=Gap("names"), range=Gap("dashes")), title=None, legend=key
            ),
            tooltip=["name:N", "step:O", "what:N", alt.Tooltip("pct:Q", title="% of the head"), "chains:Q"],
        )
        .properties(width=290, height=170)
        .facet(facet=alt.Facet("what:N", title=None), columns=2)
    )
    return dressed(chart)


def drops_figure(report: Report) -> Figure:
    """Mean load and repetitions along the drop chains of each exercise, as % of the head set."""
    table = chains(report).with_columns(name=report.named("exercise"))
    most = (
        table.filter(pl.col("step") == 0).sort("chains", "name", descending=[True, False]).head(_MOST_LIFTS)
    )
    table = table.filter(pl.col("name").is_in(most["name"].implode()))
    long = pl.concat(
        [
            table.select("name", "step", "chains", what=pl.lit("load"), pct="load_pct"),
            table.select("name", "step", "chains", what=pl.lit("repetitions"), pct="reps_pct"),
        ]
    ).filter(pl.col("pct").is_not_null())
    names = most["name"].to_list()
    say = (
        f"Fall-off along drop chains of {', '.join(names)}: load and repetitions as a share of the head set."
    )
    shown = table.select(
        pl.col("name").alias("exercise"),
        pl.col("step").alias("set of the chain"),
        "chains",
        pl.col("load_pct").round(0).alias("load, % of head"),
        pl.col("reps_pct").round(0).alias("reps, % of head"),
    )
    count = len(names)
    gaps = {"names": names, "colours": list(_LINES[:count]), "dashes": list(_DASHES[:count])}
    return figure_of(_drops, Said(sentence=say, table=shown), {"steps": long}, gaps)


def recent_hard_sets(report: Report, exercise: str) -> pl.DataFrame:
    """Hard sets of the last eight weeks of one exercise: date, load_kg, reps, rir, reps_possible, source."""
    return (
        report.own("sets", exercise)
        .filter(
            pl.col("role").is_in(HARD_ROLES)
            & ~pl.col("suspect")
            & pl.col("reps").is_between(1, _CURVE_REPS)
            & (pl.col("load_kg") > 0)
            & (pl.col("date") > report.as_of - timedelta(days=_CURVE_DAYS))
        )
        .select(
            "date",
            "load_kg",
            "reps",
            "rir",
            "source_file",
            "source_row",
            reps_possible=pl.col("reps") + pl.col("rir").fill_null(0),
        )
    )


@shape
def _curve() -> alt.LayerChart:
    x = alt.X(
        "reps:Q",
        title="repetitions, logged RIR added",
        scale=alt.Scale(domain=[0, _CURVE_REPS]),
        axis=alt.Axis(format="d", tickMinStep=1),
    )
    y = alt.Y("kg:Q", title=Gap("level"), scale=alt.Scale(zero=False), axis=alt.Axis(labelExpr=Gap("labels")))
    line = over("curve").mark_line(color=LINE, strokeWidth=2, description=Gap("say")).encode(x=x, y=y)
    dots = (
        over("sets")
        .mark_point(size=42, color=INK, opacity=0.7, aria=False)
        .encode(
            x=x,
            y=y,
            shape=alt.Shape(
                "effort:N",
                title=None,
                scale=alt.Scale(domain=["RIR logged", "RIR not logged"], range=["circle", "cross"]),
            ),
            tooltip=[
                "date:T",
                "kg:Q",
                alt.Tooltip("done:Q", title="reps"),
                "rir:Q",
                "file:N",
                alt.Tooltip("row:Q", title="row in the file"),
            ],
        )
    )
    return dressed(alt.layer(line, dots), height=220)


def curve_figure(report: Report, exercise: str) -> Figure:
    """Loads over possible repetitions, with the loads that the estimated maximum implies to failure."""
    strength_kg = report.own("lifts", exercise)["strength_kg"][0]
    reps = np.arange(1, _CURVE_REPS + 1)
    loads_kg = strength_kg / np.exp(log_ratio(reps))
    sets = recent_hard_sets(report, exercise)
    name = report.word(exercise)
    say = (
        f"{name}: {sets.height} hard sets of eight weeks, and the loads that the estimate implies to failure."
    )
    marked = sets.filter(pl.col("reps_possible") <= _CURVE_REPS).select(
        "date",
        "rir",
        effort=pl.when(pl.col("rir").is_null())
        .then(pl.lit("RIR not logged"))
        .otherwise(pl.lit("RIR logged")),
        reps="reps_possible",
        kg="load_kg",
        done="reps",
        file="source_file",
        row="source_row",
    )
    table = (
        sets.sort("date", descending=True)
        .head(8)
        .select(
            pl.col("date").alias("day"),
            pl.col("load_kg").round(1).alias("load, kg"),
            "reps",
            pl.col("rir").alias("reps in reserve"),
        )
    )
    curve = [{"reps": int(r), "kg": float(kg)} for r, kg in zip(reps, loads_kg, strict=True)]
    gaps = {"level": load_title(report, "load"), "labels": load_labels(report)}
    return figure_of(_curve, Said(sentence=say, table=table), {"curve": curve, "sets": marked}, gaps)
