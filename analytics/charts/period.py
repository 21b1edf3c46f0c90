"""Period: the slope of one lift over a stretch of days that a coach marks."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import altair as alt
import numpy as np
import polars as pl
from scipy.special import stdtrit

from analytics.charts.figure import Figure, Said, figure_of
from analytics.charts.look import INK, LINE, dressed
from analytics.charts.pounds import load_labels, load_title
from analytics.charts.report import Report
from analytics.charts.shape import Gap, over, shape

_FEWEST = 4
FIRST, SECOND = "one", "two"
"""Names of the marked stretches inside the chart."""
FIRST, SECOND = "one", "two"
"""Names of the two stretches that a coach can mark."""


@dataclass(frozen=True, kw_only=True)
class Slope:
    """Weighted straight line through the sessions of a period; % a week with its 80 % interval."""

    sessions: int
    pct_per_week: float
    low: float
    high: float


def period_slope(report: Report, exercise: str, first: date, last: date) -> Slope | None:
    """The slope of log-strength from `first` to `last`, both included; None with fewer than four sessions.

    Weighted least squares, weights from each session's standard error.  It knows nothing of deloads or
    layoffs inside the period: it is what the eye sees, made exact, and no call of a state.
    """
    sessions = _sessions(report, exercise).filter(pl.col("date").is_between(first, last))
    if sessions.height < _FEWEST or sessions["date"].n_unique() < _FEWEST:
        return None
    weeks = (sessions["date"] - first).dt.total_days().to_numpy() / 7
    design = np.column_stack([np.ones_like(weeks), weeks])
    log_kg, weight = np.log(sessions["session_kg"].to_numpy()), 1 / sessions["log_se"].to_numpy() ** 2
    spread = np.linalg.inv(design.T @ (weight[:, None] * design))
    line = spread @ design.T @ (weight * log_kg)
    free = sessions.height - 2
    scale = float(weight @ (log_kg - design @ line) ** 2) / free
    half = stdtrit(free, 0.9) * np.sqrt(scale * spread[1, 1])
    mean = float(line[1])
    return Slope(
        sessions=sessions.height,
        pct_per_week=100 * mean,
        low=100 * float(mean - half),
        high=100 * float(mean + half),
    )


def _fitted(inside: Any, colour: str) -> Any:
    line = inside.transform_regression("date", "kg").mark_line(color=colour, strokeWidth=2, aria=False)
    return line.encode(x=alt.X("date:T"), y=alt.Y("kg:Q"))


def _reading(inside: Any, colour: str, word: str, height: int) -> Any:
    """The slope in words: a regression of log-strength on days, its coefficient times 700 is % a week."""
    return (
        inside.transform_regression("day", "log_kg", params=True)
        .transform_calculate(says=f"'{word} stretch: ' + format(700 * datum.coef[1], '+.2f') + ' % a week'")
        .mark_text(align="right", color=colour, fontSize=13, fontWeight="bold", aria=False)
        .encode(x=alt.value("width"), y=alt.value(height), text=alt.Text("says:N"))
    )


def _sessions(report: Report, exercise: str) -> pl.DataFrame:
    own = pl.col("exercise") == exercise
    errors = report["sessions"].filter(own).select("date", "log_se")
    return report["trend_lines"].filter(own).join(errors, on="date", how="inner").sort("date")


@shape
def _marked() -> alt.LayerChart:
    base = over("sessions")
    one = alt.selection_interval(
        name=FIRST, encodings=["x"], on="[mousedown[!event.shiftKey], mouseup] > mousemove"
    )
    two = alt.selection_interval(
        name=SECOND, encodings=["x"], on="[mousedown[event.shiftKey], mouseup] > mousemove", empty=False
    )
    x = alt.X("date:T", title=None, axis=alt.Axis(format="%d %b", tickCount=8))
    points = (
        base.mark_point(filled=True, size=45, color=INK, opacity=0.8, description=Gap("say"))
        .encode(
            x=x,
            y=alt.Y(
                "kg:Q",
                title=Gap("title"),
                scale=alt.Scale(zero=False),
                axis=alt.Axis(labelExpr=Gap("labels")),
            ),
        )
        .add_params(one, two)
    )
    layers = [points]
    for selection, colour, word, height in ((one, LINE, "first", -5), (two, "#a33b20", "second", -21)):
        inside = base.transform_filter(selection)
        layers.append(_fitted(inside, colour))
        layers.append(_reading(inside, colour, word, height))
    return dressed(alt.layer(*layers), height=260)


def marked_figure(report: Report, exercise: str) -> Figure:
    """Sessions of one lift; drag to mark one stretch, drag with the shift key held to mark another.

    The slope of each marked stretch stands above the chart and follows the mouse.
    """
    name = report.word(exercise)
    sessions = _sessions(report, exercise)
    start = sessions["date"].min()
    rows = sessions.select(
        "date",
        day=(pl.col("date") - start).dt.total_days(),
        kg=pl.col("session_kg").round(2),
        log_kg=pl.col("session_kg").log().round(6),
    )
    say = f"{name}: drag over the chart to read the slope of a stretch; hold shift for a second one."
    table = (
        sessions.sort("date", descending=True)
        .head(8)
        .select("date", pl.col("session_kg").round(1).alias("kg"))
    )
    gaps = {"title": load_title(report, "estimated 1RM"), "labels": load_labels(report)}
    return figure_of(_marked, Said(sentence=say, table=table), {"sessions": rows}, gaps)
