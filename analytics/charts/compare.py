"""Compare: two lifts of one athlete on one scale."""

from __future__ import annotations

import altair as alt
import polars as pl

from analytics.charts.figure import Figure, figure_of
from analytics.charts.look import LINE, QUIET, dressed
from analytics.charts.marks import data_of
from analytics.charts.report import Report


def compared_figure(report: Report, exercises: tuple[str, str]) -> Figure:
    """Two lifts on one scale: each line as % of its own first value, sessions as points."""
    parts = []
    for exercise in exercises:
        line = report["trend_lines"].filter(pl.col("exercise") == exercise).sort("date")
        first = pl.col("strength_kg").first()
        parts.append(
            line.select(
                "date",
                lift=pl.lit(report.word(exercise)),
                line=100 * pl.col("strength_kg") / first,
                session=100 * pl.col("session_kg") / first,
            )
        )
    rows = pl.concat(parts)
    names = [report.word(exercise) for exercise in exercises]
    say = f"{names[0]} and {names[1]}, each as % of its own strength at the start."
    colour = alt.Color("lift:N", scale=alt.Scale(domain=names, range=[LINE, "#a33b20"]), title=None)
    base = alt.Chart(data_of(rows)).encode(
        x=alt.X("date:T", title=None, axis=alt.Axis(format="%d %b", tickCount=8))
    )
    y = alt.Y("line:Q", title="% of strength at the start", scale=alt.Scale(zero=False))
    dash = alt.StrokeDash("lift:N", scale=alt.Scale(domain=names, range=[[1, 0], [6, 3]]), title=None)
    start = alt.Chart(data_of([{"level": 100}]))
    layers = [
        start.mark_rule(color=QUIET, strokeDash=[3, 3], aria=False).encode(y=alt.Y("level:Q")),
        base.mark_point(filled=True, size=18, opacity=0.4, aria=False).encode(
            y=alt.Y("session:Q"), color=colour
        ),
        base.mark_line(strokeWidth=2.5, description=say).encode(y=y, color=colour, strokeDash=dash),
    ]
    ends = rows.group_by("lift", maintain_order=True).agg(
        first=pl.col("date").first(), last=pl.col("date").last(), now=pl.col("line").last().round(1)
    )
    table = ends.rename({"now": "% of strength at the start"})
    return figure_of(dressed(alt.layer(*layers), height=260), say, table)
