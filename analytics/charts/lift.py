"""Lift: estimated strength of one exercise over time, with its band, onset, forecast and calendar."""

from __future__ import annotations

from datetime import date
from typing import Any

import altair as alt
import polars as pl

from analytics.charts.ahead import ahead, end_of_sight
from analytics.charts.figure import Figure, figure_of
from analytics.charts.look import BAND, INK, LINE, QUIET, SHADES, STATES, dressed
from analytics.charts.marks import data_of
from analytics.charts.report import Report

_TABLE_ROWS = 8
LEAST_REACH = 0.1
"""The axis reaches at least this share above and below the mean, so that a small change looks small."""
_CALENDAR_SHADE = "#e4e0d6"


def lift_figure(report: Report, exercise: str, *, height: int = 260) -> Figure:
    """Sessions as points sized by how much they tell, the line with its 80 % band, and four weeks ahead."""
    own = pl.col("exercise") == exercise
    lift = report["lifts"].filter(own).row(0, named=True)
    sessions, line = report["sessions"].filter(own), report["trend_lines"].filter(own)
    name = report.word(exercise)
    first, last = sessions["date"].min(), end_of_sight(report.as_of, report.who["stage_date"])
    assert isinstance(first, date)
    x = alt.X(
        "date:T",
        title=None,
        scale=alt.Scale(domain=[first.isoformat(), last.isoformat()]),
        axis=alt.Axis(format="%d %b", tickCount=8),
    )
    layers = [
        *_shades(report, first, last),
        _band(line, x),
        _line(line, x, _sentence(name, lift)),
        *_forecast(report, lift, line, x),
        _points(sessions, line, x),
        *_onset(lift, first),
        *_decisions(report, lift, first),
    ]
    chart = dressed(alt.layer(*layers), height=height)
    return figure_of(chart, _sentence(name, lift), _table(sessions))


def _sentence(name: str, lift: dict[str, Any]) -> str:
    low, high = lift["slope_low"], lift["slope_high"]
    return (
        f"{name}: {lift['slope_pct_per_week']:+.2f} % a week (80 % interval {low:+.2f} to {high:+.2f}), "
        f"{STATES[lift['state']][2]}. Estimated one-repetition maximum about {lift['strength_kg']:.0f} kg; "
        f"the level may be {lift['strength_low_kg']:.0f} to {lift['strength_high_kg']:.0f} kg, "
        "the band shows the direction only."
    )


def _band(line: pl.DataFrame, x: alt.X) -> alt.Chart:
    data = line.select("date", low="strength_low_kg", high="strength_high_kg")
    middle = float(line["strength_kg"].to_numpy().mean())
    reach = [
        min(
            (1 - LEAST_REACH) * middle,
            line.select(pl.min_horizontal("session_kg", "strength_low_kg").min()).item(),
        ),
        max(
            (1 + LEAST_REACH) * middle,
            line.select(pl.max_horizontal("session_kg", "strength_high_kg").max()).item(),
        ),
    ]
    y = alt.Y("low:Q", title="estimated 1RM, kg", scale=alt.Scale(zero=False, nice=True, domain=reach))
    return (
        alt.Chart(data_of(data))
        .mark_area(color=BAND, opacity=0.45, aria=False)
        .encode(x=x, y=y, y2=alt.Y2("high:Q"))
    )


def _line(line: pl.DataFrame, x: alt.X, sentence: str) -> alt.Chart:
    data = line.select("date", kg="strength_kg")
    return (
        alt.Chart(data_of(data))
        .mark_line(color=LINE, strokeWidth=2.5, description=sentence)
        .encode(x=x, y=alt.Y("kg:Q", title="estimated 1RM, kg"))
    )


def _points(sessions: pl.DataFrame, line: pl.DataFrame, x: alt.X) -> alt.Chart:
    data = sessions.join(line.select("date", "session_kg"), on="date", how="inner").select(
        "date",
        kg=pl.col("session_kg").round(1),
        formula=pl.col("e1rm_kg").round(1),
        se=pl.col("e1rm_se_kg").round(1),
        weight=(1 / pl.col("log_se").clip(lower_bound=0.005) ** 2).sqrt().round(1),
        set=pl.format("{} kg x {}", pl.col("top_load_kg").round(1), pl.col("top_reps").fill_null(0)),
        rir=pl.col("top_rir").round(0).cast(pl.Int32).cast(pl.String).fill_null("not logged"),
        file="source_file",
        row="source_row",
    )
    tips = [
        alt.Tooltip("date:T", title="day", format="%d %b %Y"),
        alt.Tooltip("kg:Q", title="estimated 1RM, kg"),
        alt.Tooltip("formula:Q", title="by the published curve, kg"),
        alt.Tooltip("se:Q", title="standard error, kg"),
        alt.Tooltip("set:N", title="top set"),
        alt.Tooltip("rir:N", title="reps in reserve"),
        alt.Tooltip("file:N", title="file"),
        alt.Tooltip("row:Q", title="row in the file"),
    ]
    return (
        alt.Chart(data_of(data))
        .mark_point(filled=True, color=INK, opacity=0.75, aria=False)
        .encode(
            x=x,
            y=alt.Y("kg:Q"),
            size=alt.Size("weight:Q", scale=alt.Scale(range=[12, 70]), legend=None),
            tooltip=tips,
        )
    )


def _forecast(report: Report, lift: dict[str, Any], line: pl.DataFrame, x: alt.X) -> list[alt.Chart]:
    if lift["forecast_kg"] is None:
        return []
    end = end_of_sight(report.as_of, report.who["stage_date"])
    base = alt.Chart(data_of(ahead(lift, line.row(-1, named=True), end)))
    layers = [
        base.mark_area(color=BAND, opacity=0.2, aria=False).encode(
            x=x, y=alt.Y("low:Q"), y2=alt.Y2("high:Q")
        ),
        base.mark_line(color=LINE, strokeDash=[4, 4], aria=False).encode(x=x, y=alt.Y("kg:Q")),
    ]
    if end == report.who["stage_date"]:
        stage = alt.Chart(data_of([{"date": end, "word": "stage"}]))
        layers += [
            stage.mark_rule(color=INK, strokeWidth=2, aria=False).encode(x=alt.X("date:T")),
            stage.mark_text(color=INK, align="right", dx=-5, fontSize=12, aria=False).encode(
                x=alt.X("date:T"), y=alt.value(24), text=alt.Text("word:N")
            ),
        ]
    return layers


def _decisions(report: Report, lift: dict[str, Any], first: date) -> list[alt.Chart]:
    """What the coach changed on this lift, as a mark at the foot of the chart with the words behind it."""
    about = pl.col("subject").is_in([lift["exercise"], lift["family"] or ""]) & (pl.col("date") >= first)
    rows = report["decisions"].filter(about).select("date", "what", "why")
    if rows.is_empty():
        return []
    tips = [
        alt.Tooltip("date:T", title="decided", format="%d %b %Y"),
        alt.Tooltip("what:N", title="what"),
        alt.Tooltip("why:N", title="why"),
    ]
    mark = alt.Chart(data_of(rows)).mark_point(shape="diamond", size=90, filled=True, color=INK, aria=False)
    return [mark.encode(x=alt.X("date:T"), y=alt.value("height"), tooltip=tips)]


def _onset(lift: dict[str, Any], first: date) -> list[alt.Chart]:
    if lift["state"] not in ("stalled", "regressing") or lift["since"] is None:
        return []
    colour, _, word = STATES[lift["state"]]
    since = max(lift["since"], first)
    base = alt.Chart(data_of([{"date": since, "words": f"{word} since {lift['since']:%d %b %Y}"}]))
    return [
        base.mark_rule(color=colour, strokeWidth=2, strokeDash=[2, 2], aria=False).encode(x=alt.X("date:T")),
        base.mark_text(
            color=colour, align="left", dx=6, dy=-4, fontSize=12, fontWeight="bold", aria=False
        ).encode(x=alt.X("date:T"), y=alt.value(12), text=alt.Text("words:N")),
    ]


def _shades(report: Report, first: date, last: date) -> list[alt.Chart]:
    """Plan phases behind everything, and above them travel, deloads and other calendar entries."""
    layers = []
    phases = report["phases"].sort("from").with_columns(to=pl.col("from").shift(-1).fill_null(last))
    for frame, colours, where in (
        (phases.select("from", "to", word="name"), SHADES, 0),
        (report["calendar"].select("from", pl.col("to") + pl.duration(days=1), word="kind"), {}, 1),
    ):
        inside = frame.filter((pl.col("to") > first) & (pl.col("from") < last))
        rows = [
            {
                "from": max(start, first),
                "to": min(end, last),
                "word": word,
                "colour": colours.get(word, _CALENDAR_SHADE),
            }
            for start, end, word in inside.rows()
        ]
        if rows:
            base = alt.Chart(data_of(rows))
            tips = [alt.Tooltip("word:N", title="plan" if where == 0 else "calendar")]
            layers += [
                base.mark_rect(aria=False, opacity=1 if where == 0 else 0.7).encode(
                    x=alt.X("from:T"),
                    x2=alt.X2("to:T"),
                    color=alt.Color("colour:N", scale=None),
                    tooltip=tips,
                ),
                base.mark_text(
                    align="left", baseline="bottom", dx=3, fontSize=10, color=QUIET, aria=False
                ).encode(
                    x=alt.X("from:T"),
                    y=alt.value("height") if where else alt.value(10),
                    text=alt.Text("word:N"),
                ),
            ]
    return layers


def _table(sessions: pl.DataFrame) -> pl.DataFrame:
    return (
        sessions.sort("date", descending=True)
        .head(_TABLE_ROWS)
        .select(
            pl.col("date").alias("day"),
            pl.format("{} kg x {}", pl.col("top_load_kg").round(1), pl.col("top_reps").fill_null(0)).alias(
                "top set"
            ),
            pl.col("top_rir").alias("reps in reserve"),
            pl.col("e1rm_kg").round(1).alias("estimated 1RM, kg"),
            pl.col("e1rm_se_kg").round(1).alias("standard error, kg"),
            pl.col("sets_used").alias("sets used"),
        )
    )
