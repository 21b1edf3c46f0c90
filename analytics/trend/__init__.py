"""Trend: sessions become the judgement of every lift and family, and its history as known week by week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl

from analytics import schema
from analytics.trend.intervals import Z80
from analytics.trend.judge import judge
from analytics.trend.lines import LineEnds, fit_lines, padded
from analytics.trend.series import EPOCH, NO_PHASES, make_series, week_ends
from analytics.trend.tables import Judged, as_known, history_table, state_table

__all__ = ["Trends", "fit_trends"]

ATHLETES_AT_ONCE = 400
"""Athletes filtered together: bounds memory, changes no number."""


@dataclass(frozen=True, kw_only=True)
class Trends:
    """Tables `lifts`, `families`, `lift_history` and `trend_lines` of `analytics.schema`.

    `lifts_before` and `families_before` are what the same judgement told a week earlier.
    """

    lifts: pl.DataFrame
    families: pl.DataFrame
    lifts_before: pl.DataFrame
    families_before: pl.DataFrame
    history: pl.DataFrame
    lines: pl.DataFrame


def fit_trends(
    sessions: pl.DataFrame, calendar: pl.DataFrame, as_of: date, phases: pl.DataFrame = NO_PHASES
) -> Trends:
    """Judge every lift and movement family as of a day.

    `phases` has one row per athlete and phase of the plan: athlete, name (build, cut, peak, off), from.
    `sessions` and `calendar` are the tables of that name; rows after `as_of` change nothing.  One athlete's
    rows do not change another's answer.  History knows, for each week, only what was known by its Sunday.
    """
    sessions = sessions.filter(pl.col("date") <= as_of)
    calendar = calendar.filter(pl.col("from") <= as_of)
    phases = phases.filter(pl.col("from") <= as_of)
    athletes = sessions["athlete"].unique().sort()
    parts = []
    for first in range(0, len(athletes), ATHLETES_AT_ONCE):
        chosen = athletes[first : first + ATHLETES_AT_ONCE].implode()
        some = sessions.filter(pl.col("athlete").is_in(chosen))
        parts.append(_fit_some(some, calendar, phases, as_of))
    tables = {}
    for name, table in (
        ("lifts", schema.LIFTS),
        ("families", schema.FAMILIES),
        ("lifts_before", schema.LIFTS),
        ("families_before", schema.FAMILIES),
        ("history", schema.LIFT_HISTORY),
        ("lines", schema.TREND_LINES),
    ):
        frames = [schema.conform(part[name], table) for part in parts if len(part[name])]
        tables[name] = schema.conform(pl.concat(frames), table) if frames else table.empty()
    return Trends(**tables)


def _fit_some(
    sessions: pl.DataFrame, calendar: pl.DataFrame, phases: pl.DataFrame, as_of: date
) -> dict[str, pl.DataFrame]:
    before = as_of - timedelta(days=7)
    of_lift = sessions.group_by("athlete", "exercise").agg(pl.col("family").drop_nulls().sort().first())
    lifts = _judged(sessions, calendar, phases, "exercise", as_of)
    found = {
        "lifts": _told(lifts, of_lift),
        "lifts_before": _told(_earlier(lifts, sessions, calendar, phases, before), of_lift),
        "history": history_table(lifts, week_ends(_first(sessions), as_of)),
        "lines": _lines(lifts),
    }
    in_family = sessions.filter(pl.col("family").is_not_null())
    families = _judged(in_family, calendar, phases, "family", as_of) if len(in_family) else None
    earlier = _earlier(families, in_family, calendar, phases, before)
    found["families"] = _told(families, _exercises(in_family))
    found["families_before"] = _told(earlier, _exercises(in_family.filter(pl.col("date") <= before)))
    return found


def _first(sessions: pl.DataFrame) -> date:
    return min(sessions["date"].to_list())


def _judged(
    sessions: pl.DataFrame, calendar: pl.DataFrame, phases: pl.DataFrame, group_by: str, day: date
) -> Judged:
    series = make_series(sessions, calendar, group_by, phases)
    return judge(series, week_ends(_first(sessions), day), day)


def _earlier(
    judged: Judged | None, sessions: pl.DataFrame, calendar: pl.DataFrame, phases: pl.DataFrame, day: date
) -> Judged | None:
    """The judgement as of an earlier day: read off the same pass where that day was a checkpoint."""
    known = sessions.filter(pl.col("date") <= day)
    if judged is None or known.is_empty():
        return None
    if (day - EPOCH).days in judged.checkpoints:
        return as_known(judged, day)
    group_by = "exercise" if judged.series.is_single else "family"
    return _judged(known, calendar, phases, group_by, day)


def _told(judged: Judged | None, names: pl.DataFrame) -> pl.DataFrame:
    """The states as a table, with what `names` says of each group; without rows where nothing was judged."""
    if judged is None:
        return pl.DataFrame()
    subject = judged.series.groups.columns[-1]
    told = state_table(judged).join(judged.series.groups, on="group")
    return told.join(names, on=["athlete", subject])


def _exercises(in_family: pl.DataFrame) -> pl.DataFrame:
    return (
        in_family.select("athlete", "family", "exercise")
        .unique()
        .sort("athlete", "family", "exercise")
        .group_by("athlete", "family", maintain_order=True)
        .agg(exercises=pl.col("exercise").str.join(", "))
    )


def _lines(lifts: Judged) -> pl.DataFrame:
    """Lines drawn back from what is told; a session stands where the line's own curve and effort put it."""
    filtered, observed = lifts.filtered, lifts.series.observed
    on_line = observed.value - filtered.day_effect - filtered.departure
    on_line += filtered.curve[observed.series] * observed.exposure
    rows = lifts.series.rows.with_columns(
        on_line=pl.Series(on_line),
        variance=pl.Series(filtered.cleaned_var / np.maximum(filtered.kept, 1e-3)),
        day=pl.Series(observed.day.max() - observed.day),
    ).sort("series", "day")
    index = rows["series"].to_numpy().astype(np.intp)
    place = np.arange(len(index)) - np.repeat(np.flatnonzero(np.diff(index, prepend=-1)), np.bincount(index))
    days = rows["day"].to_numpy().astype(float)
    weeks_since = np.minimum(
        (lifts.checkpoints[-1] - observed.day.max() + days[place == 0]) / 7, lifts.model.longest_drift_weeks
    )
    slope = lifts.told.slope[:, -1]
    ends = LineEnds(
        level=filtered.level[:, -1] - weeks_since * slope, slope=slope, slope_sd=lifts.told.slope_sd[:, -1]
    )
    fit = fit_lines(
        padded(index, rows["on_line"].to_numpy(), "nan"),
        padded(index, rows["variance"].to_numpy(), "last"),
        padded(index, days, "last"),
        ends,
    )
    level, back = fit.smoothed[index, place].T
    sd = np.sqrt(fit.smoothed_cov[index, place, 0, 0])
    return rows.with_columns(
        session_kg=pl.col("on_line").exp(),
        strength_kg=pl.Series(np.exp(level)),
        strength_low_kg=pl.Series(np.exp(level - Z80 * sd)),
        strength_high_kg=pl.Series(np.exp(level + Z80 * sd)),
        slope_pct_per_week=pl.Series(-700 * back),
    )
