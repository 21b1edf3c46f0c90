"""Lift: estimated strength of one exercise over time, with its band, onset, forecast and calendar."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import altair as alt
import polars as pl

from analytics.charts.ahead import ahead, end_of_sight
from analytics.charts.figure import Figure, Said, figure_of
from analytics.charts.look import BAND, INK, LINE, QUIET, SHADES, STATES, dressed
from analytics.charts.report import Report
from analytics.charts.shape import Gap, Rows, over, shape

_TABLE_ROWS = 8
LEAST_REACH = 0.1
"""The axis reaches at least this share above and below the mean, so that a small change looks small."""
_CALENDAR_SHADE = "#e4e0d6"


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


@shape
def _lift() -> alt.LayerChart:
    x = alt.X(
        "date:T",
        title=None,
        scale=alt.Scale(domain=Gap("days")),
        axis=alt.Axis(format="%d %b", tickCount=8),
    )
    kg = alt.Y("kg:Q", title="estimated 1RM, kg")
    day = alt.X("date:T")
    band = alt.Y(
        "low:Q", title="estimated 1RM, kg", scale=alt.Scale(zero=False, nice=True, domain=Gap("reach"))
    )
    onset = over("onset")
    layers = [
        *_shaded("phases", "plan", 1, alt.value(10)),
        *_shaded("calendar", "calendar", 0.7, alt.value("height")),
        over("band").mark_area(color=BAND, opacity=0.45, aria=False).encode(x=x, y=band, y2=alt.Y2("high:Q")),
        over("line").mark_line(color=LINE, strokeWidth=2.5, description=Gap("say")).encode(x=x, y=kg),
        over("ahead")
        .mark_area(color=BAND, opacity=0.2, aria=False)
        .encode(x=x, y=alt.Y("low:Q"), y2=alt.Y2("high:Q")),
        over("ahead").mark_line(color=LINE, strokeDash=[4, 4], aria=False).encode(x=x, y=alt.Y("kg:Q")),
        over("stage").mark_rule(color=INK, strokeWidth=2, aria=False).encode(x=day),
        over("stage")
        .mark_text(color=INK, align="right", dx=-5, fontSize=12, aria=False)
        .encode(x=day, y=alt.value(24), text=alt.Text("word:N")),
        over("points")
        .mark_point(filled=True, color=INK, opacity=0.75, aria=False)
        .encode(
            x=x,
            y=alt.Y("kg:Q"),
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
            color=Gap("onset"), align="left", dx=6, dy=-4, fontSize=12, fontWeight="bold", aria=False
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


def lift_figure(report: Report, exercise: str, *, height: int = 260) -> Figure:
    """Sessions as points sized by how much they tell, the line with its 80 % band, and four weeks ahead."""
    lift = report.own("lifts", exercise).row(0, named=True)
    sessions, line = report.own("sessions", exercise), report.own("trend_lines", exercise)
    stage = report.who["stage_date"]
    first, last = sessions["date"].min(), end_of_sight(report.as_of, stage)
    assert isinstance(first, date)
    sure = lift["forecast_kg"] is not None
    rows: dict[str, Rows] = {
        "phases": _inside(_phases(report, last), (first, last), SHADES),
        "calendar": _inside(_calendar(report), (first, last), {}),
        "band": line.select("date", low="strength_low_kg", high="strength_high_kg"),
        "line": line.select("date", kg="strength_kg"),
        "ahead": ahead(lift, line.row(-1, named=True), last) if sure else [],
        "stage": [{"date": last, "word": "stage"}] if sure and last == stage else [],
        "points": _points(sessions, line),
        "onset": _onset(lift, first),
        "decisions": _decisions(report, lift, first),
    }
    gaps = {
        "days": [first.isoformat(), last.isoformat()],
        "reach": _reach(line),
        "onset": STATES[lift["state"]][0],
        "height": height,
    }
    said = Said(sentence=_sentence(report.word(exercise), lift), table=_table(sessions))
    return figure_of(_lift, said, rows, gaps)


def _sentence(name: str, lift: dict[str, Any]) -> str:
    low, high = lift["slope_low"], lift["slope_high"]
    return (
        f"{name}: {lift['slope_pct_per_week']:+.2f} % a week (80 % interval {low:+.2f} to {high:+.2f}), "
        f"{STATES[lift['state']][2]}. Estimated one-repetition maximum about {lift['strength_kg']:.0f} kg; "
        f"the level may be {lift['strength_low_kg']:.0f} to {lift['strength_high_kg']:.0f} kg, "
        "the band shows the direction only."
    )


def _reach(line: pl.DataFrame) -> list[float]:
    low, middle, high = (
        line[column].to_numpy() for column in ("strength_low_kg", "strength_kg", "strength_high_kg")
    )
    session = line["session_kg"].to_numpy()
    return [
        float(min((1 - LEAST_REACH) * middle.mean(), session.min(), low.min())),
        float(max((1 + LEAST_REACH) * middle.mean(), session.max(), high.max())),
    ]


def _points(sessions: pl.DataFrame, line: pl.DataFrame) -> pl.DataFrame:
    return sessions.join(line.select("date", "session_kg"), on="date", how="inner").select(
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


def _decisions(report: Report, lift: dict[str, Any], first: date) -> pl.DataFrame:
    """What the coach changed on this lift, as a mark at the foot of the chart with the words behind it."""
    about = pl.col("subject").is_in([lift["exercise"], lift["family"] or ""]) & (pl.col("date") >= first)
    decisions = report["decisions"]
    return decisions if decisions.is_empty() else decisions.filter(about).select("date", "what", "why")


def _onset(lift: dict[str, Any], first: date) -> list[dict[str, Any]]:
    if lift["state"] not in ("stalled", "regressing") or lift["since"] is None:
        return []
    words = f"{STATES[lift['state']][2]} since {lift['since']:%d %b %Y}"
    return [{"date": max(lift["since"], first), "words": words}]


def _phases(report: Report, last: date) -> list[tuple[date, date, str]]:
    starts = report["phases"].sort("from").select("from", "name").rows()
    ends = [*(start for start, _ in starts[1:]), last]
    return [(start, end, name) for (start, name), end in zip(starts, ends, strict=False)]


def _calendar(report: Report) -> list[tuple[date, date, str]]:
    entries = report["calendar"].select("from", "to", "kind").rows()
    return [(start, end + timedelta(days=1), kind) for start, end, kind in entries]


def _inside(
    stretches: list[tuple[date, date, str]], seen: tuple[date, date], colours: Mapping[str, str]
) -> list[dict[str, Any]]:
    """The parts of the stretches that are seen, each with its word and colour."""
    first, last = seen
    return [
        {
            "from": max(start, first),
            "to": min(end, last),
            "word": word,
            "colour": colours.get(word, _CALENDAR_SHADE),
        }
        for start, end, word in stretches
        if end > first and start < last
    ]


def _table(sessions: pl.DataFrame) -> pl.DataFrame:
    return (
        sessions.sort("date")
        .tail(_TABLE_ROWS)
        .reverse()
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
