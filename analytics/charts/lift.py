"""Lift: estimated strength of one exercise over time, with its band, onset, forecast and calendar."""

from __future__ import annotations

from datetime import date
from typing import Any

import polars as pl

from analytics.charts.ahead import ahead, end_of_sight
from analytics.charts.figure import Figure, Said, figure_of
from analytics.charts.panel import PANEL
from analytics.charts.pounds import load_labels, load_title, load_words
from analytics.charts.report import Report
from analytics.charts.shape import Rows
from analytics.charts.standing import Standing, standing
from analytics.charts.stretches import answer_rows, answer_words, answers, calendar_rows, phase_rows, present
from analytics.schema import KG_PER_LB
from analytics.wording import signed

_TABLE_ROWS = 8
LEAST_REACH = 0.1
"""The axis reaches at least this share above and below the mean, so that a small change looks small."""


def lift_figure(report: Report, exercise: str, *, height: int = 260) -> Figure:
    """Sessions as points sized by how much they tell, the line with its 80 % band, and four weeks ahead."""
    lift = report.own("lifts", exercise).row(0, named=True)
    sessions, line = report.own("sessions", exercise), report.own("trend_lines", exercise)
    stage, stand = report.who["stage_date"], standing(report, lift)
    first, last = sessions["date"].min(), end_of_sight(report.as_of, stage)
    assert isinstance(first, date)
    seen, told = (first, last), answers(report, exercise)
    now = present(told, seen)
    sure = lift["forecast_kg"] is not None
    rows: dict[str, Rows] = {
        "phases": phase_rows(report, seen),
        "calendar": calendar_rows(report, seen),
        "answers": answer_rows(told, seen),
        "present": [{"at": now.at, "label": now.words}] if now else [],
        "line": line.select("date", kg="strength_kg", low="strength_low_kg", high="strength_high_kg"),
        "ahead": ahead(lift, line.row(-1, named=True), last) if sure else [],
        "stage": [{"date": last, "word": "stage"}] if sure and last == stage else [],
        "points": _points(report, sessions, line),
        "onset": [] if stand.held else _onset(lift, first, report.as_of),
        "decisions": _decisions(report, lift, first),
    }
    late = lift["since"] is not None and lift["since"] - first > (last - first) / 2
    gaps = {
        "days": [first.isoformat(), last.isoformat()],
        "reach": _reach(line),
        "onset": stand.colour,
        "onset_side": "right" if late else "left",
        "onset_shift": -6 if late else 6,
        "height": height,
        "labels": load_labels(report),
        "level": load_title(report, "estimated 1RM"),
        "present_side": now.side if now else "left",
    }
    sentence = f"{_sentence(report, lift, stand)} {answer_words(told)}".strip()
    said = Said(sentence=sentence, table=_table(report, sessions, line))
    return figure_of(PANEL, said, rows, gaps)


def _sentence(report: Report, lift: dict[str, Any], stand: Standing) -> str:
    low, high = lift["slope_low"], lift["slope_high"]
    least, most = lift["strength_low_kg"], lift["strength_high_kg"]
    return (
        f"{report.word(lift['exercise'])}: {signed(lift['slope_pct_per_week'])} % a week "
        f"(80 % interval {signed(low)} to {signed(high)}), {stand.word}. "
        f"Estimated one-repetition maximum about {load_words(report, lift['strength_kg'])}; "
        f"the level may be {least:.0f} to {most:.0f} kg, the band shows the direction only."
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


def _top_set(report: Report) -> pl.Expr:
    """The top set in words, its load in pounds too where they are what the athlete logs."""
    load, reps = pl.col("top_load_kg"), pl.col("top_reps").fill_null(0)
    if report.in_pounds:
        return pl.format(
            "{} kg ({} lb) x {}", load.round(1), (load / KG_PER_LB).round(0).cast(pl.Int32), reps
        )
    return pl.format("{} kg x {}", load.round(1), reps)


def _points(report: Report, sessions: pl.DataFrame, line: pl.DataFrame) -> pl.DataFrame:
    return sessions.join(line.select("date", "session_kg"), on="date", how="inner").select(
        "date",
        kg=pl.col("session_kg").round(1),
        formula=pl.col("e1rm_kg").round(1),
        se=pl.col("e1rm_se_kg").round(1),
        weight=(1 / pl.col("log_se").clip(lower_bound=0.005) ** 2).sqrt().round(1),
        set=_top_set(report),
        rir=pl.col("top_rir").round(0).cast(pl.Int32).cast(pl.String).fill_null("not logged"),
        file="source_file",
        row="source_row",
    )


def _decisions(report: Report, lift: dict[str, Any], first: date) -> pl.DataFrame:
    """What the coach changed on this lift, as a mark at the foot of the chart with the words behind it."""
    about = pl.col("subject").is_in([lift["exercise"], lift["family"] or ""]) & (pl.col("date") >= first)
    decisions = report["decisions"]
    return decisions if decisions.is_empty() else decisions.filter(about).select("date", "what", "why")


def _onset(lift: dict[str, Any], first: date, as_of: date) -> list[dict[str, Any]]:
    since = lift["since"]
    if lift["state"] not in ("stalled", "regressing") or since is None:
        return []
    day = f"{since:%d %b}" if since.year == as_of.year else f"{since:%d %b %Y}"
    return [{"date": max(since, first), "words": f"since {day}"}]


def _table(report: Report, sessions: pl.DataFrame, line: pl.DataFrame) -> pl.DataFrame:
    """The last sessions; the estimate is the point that is drawn, which follows the athlete's own curve."""
    return (
        sessions.join(line.select("date", "session_kg"), on="date", how="left")
        .sort("date")
        .tail(_TABLE_ROWS)
        .reverse()
        .select(
            pl.col("date").alias("day"),
            _top_set(report).alias("top set"),
            pl.col("top_rir").alias("reps in reserve"),
            pl.col("session_kg").round(1).alias("estimated 1RM, kg"),
            pl.col("e1rm_kg").round(1).alias("by the published curve, kg"),
            pl.col("e1rm_se_kg").round(1).alias("standard error, kg"),
            pl.col("sets_used").alias("sets used"),
        )
    )
