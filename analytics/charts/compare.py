"""Compare: two lifts of one athlete on one scale."""

from __future__ import annotations

import altair as alt
import polars as pl

from analytics.charts.figure import Figure, Said, figure_of
from analytics.charts.look import LINE, QUIET, dressed
from analytics.charts.report import Report
from analytics.charts.shape import Gap, over, shape


@shape
def _compared() -> alt.LayerChart:
    colour = alt.Color("lift:N", scale=alt.Scale(domain=Gap("names"), range=[LINE, "#a33b20"]), title=None)
    dash = alt.StrokeDash("lift:N", scale=alt.Scale(domain=Gap("names"), range=[[1, 0], [6, 3]]), title=None)
    base = over("lifts").encode(x=alt.X("date:T", title=None, axis=alt.Axis(format="%d %b", tickCount=8)))
    y = alt.Y("line:Q", title="% of strength at the start", scale=alt.Scale(zero=False))
    layers = [
        over("start").mark_rule(color=QUIET, strokeDash=[3, 3], aria=False).encode(y=alt.Y("level:Q")),
        base.mark_point(filled=True, size=18, opacity=0.4, aria=False).encode(
            y=alt.Y("session:Q"), color=colour
        ),
        base.mark_line(strokeWidth=2.5, description=Gap("say")).encode(y=y, color=colour, strokeDash=dash),
    ]
    return dressed(alt.layer(*layers), height=260)


def compared_figure(report: Report, exercises: tuple[str, str]) -> Figure:
    """Two lifts on one scale: each line as % of its own first value, sessions as points."""
    parts = []
    for exercise in exercises:
        line = report.own("trend_lines", exercise).sort("date")
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
    ends = rows.group_by("lift", maintain_order=True).agg(
        first=pl.col("date").first(), last=pl.col("date").last(), now=pl.col("line").last().round(1)
    )
    table = ends.rename({"now": "% of strength at the start"})
    said = Said(sentence=say, table=table)
    return figure_of(_compared, said, {"lifts": rows, "start": [{"level": 100}]}, {"names": names})
