"""Series: the sessions table and the calendar as sorted arrays for the filter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.trend.beliefs import Observations

LIGHT_BY_KIND = {"deload": 0.6, "illness": 0.3, "travel": 0.2, "heat": 0.2, "competition": 0.2, "layoff": 0.2}
"""Chance that a session inside a calendar entry says little about strength: common practice, no source."""
LIGHT_USUAL, LIGHT_WHEN_CUT = 0.02, 0.35
LIGHT_WHEN_FAR, FAR_RIR = 0.35, 5.0
"""A heaviest set with five repetitions or more left was easy on purpose as often as after a cut of load."""
CUT_LOAD, CUT_SESSIONS, CUT_EXTRA_REPS = 0.93, 4, 1.0
"""A top load below 93 % of the usual one without more repetitions looks easy on purpose."""

EPOCH = date(1970, 1, 1)


@dataclass(frozen=True, kw_only=True)
class Series:
    """Filter input, and what its indices mean: `lifts` has one row per series, `groups` one per regime group.

    `rows` is the sessions table in the order of the arrays; `is_single` says that every group is one series.
    `phases` has the dates from which the plan of an athlete is another one.
    """

    is_single: bool
    observed: Observations
    lifts: pl.DataFrame
    groups: pl.DataFrame
    rows: pl.DataFrame
    phases: pl.DataFrame


NO_PHASES = pl.DataFrame(schema={"athlete": pl.String, "name": pl.String, "from": pl.Date})


def make_series(
    sessions: pl.DataFrame, calendar: pl.DataFrame, group_by: str, phases: pl.DataFrame = NO_PHASES
) -> Series:
    """Arrays for the filter; `group_by` is the column (exercise or family) whose lifts share their
    regimes.  `phases` has columns athlete, name, from.
    """
    lifts = (
        sessions.select("athlete", "exercise").unique().sort("athlete", "exercise").with_row_index("series")
    )
    groups = sessions.select("athlete", group_by).unique().sort("athlete", group_by).with_row_index("group")
    rows = (
        with_context(sessions, calendar)
        .join(lifts, on=["athlete", "exercise"])
        .join(groups, on=["athlete", group_by])
        .sort("date", "group", "series")
        .with_columns(kin=pl.struct("athlete", pl.coalesce("family", "exercise")).rank("dense") - 1)
    )

    def column(name: str) -> NDArray[np.float64]:
        return rows[name].cast(pl.Float64).to_numpy()

    return Series(
        is_single=group_by == "exercise",
        observed=Observations(
            series=rows["series"].to_numpy().astype(np.intp),
            group=rows["group"].to_numpy().astype(np.intp),
            family=rows["kin"].to_numpy().astype(np.intp),
            athlete=rows["athlete"].rle_id().to_numpy().astype(np.intp),
            day=days_of(rows["date"]),
            value=np.log(column("e1rm_kg")),
            noise=column("log_noise"),
            exposure=column("curve_exposure"),
            unlogged=1 - column("rir_share"),
            light=column("light"),
            idle_days=column("idle_days"),
        ),
        lifts=lifts,
        groups=groups,
        rows=rows,
        phases=phases.join(groups.select("athlete").unique(), on="athlete", how="semi").sort(
            "athlete", "from"
        ),
    )


def with_context(sessions: pl.DataFrame, calendar: pl.DataFrame) -> pl.DataFrame:
    """Sessions with `light` (chance of an easy session, from what is known that day) and `idle_days`."""
    lift = ["athlete", "exercise"]
    sessions = sessions.sort(*lift, "date")
    usual_load = pl.col("top_load_kg").shift(1).rolling_median(CUT_SESSIONS, min_samples=2).over(lift)
    usual_reps = (
        pl.col("top_reps").cast(pl.Float64).shift(1).rolling_median(CUT_SESSIONS, min_samples=2).over(lift)
    )
    cut = (pl.col("top_load_kg") < CUT_LOAD * usual_load) & (
        pl.col("top_reps") <= usual_reps + CUT_EXTRA_REPS
    )
    days = (
        sessions.select("athlete", "date")
        .unique()
        .sort("athlete", "date")
        .with_columns(gap=pl.col("date").diff().dt.total_days().over("athlete").fill_null(0))
        .with_columns(idle=(pl.col("gap") - 7).clip(lower_bound=0).cum_sum().over("athlete"))
    )
    noted = _calendar_days(calendar, days)
    return (
        sessions.with_columns(cut=cut.fill_null(False))
        .join(days.select("athlete", "date", "idle"), on=["athlete", "date"], how="left")
        .join(noted, on=["athlete", "date"], how="left")
        .sort(*lift, "date")
        .with_columns(
            idle_days=(pl.col("idle") - pl.col("idle").shift(1).over(lift)).fill_null(0),
            light=pl.max_horizontal(
                pl.when("cut").then(LIGHT_WHEN_CUT).otherwise(LIGHT_USUAL),
                pl.when(pl.col("top_rir") >= FAR_RIR).then(LIGHT_WHEN_FAR).otherwise(0.0),
                pl.col("noted").fill_null(0.0),
            ),
        )
    )


def _calendar_days(calendar: pl.DataFrame, days: pl.DataFrame) -> pl.DataFrame:
    """Training days inside a calendar entry, with the chance that they were easy."""
    chance = pl.col("kind").replace_strict(LIGHT_BY_KIND, default=0.0, return_dtype=pl.Float64)
    return (
        days.select("athlete", "date")
        .join(calendar.select("athlete", "from", "to", chance.alias("noted")), on="athlete")
        .filter(pl.col("date") >= pl.col("from"), pl.col("date") <= pl.col("to"))
        .group_by("athlete", "date")
        .agg(pl.col("noted").max())
    )


def days_of(dates: pl.Series) -> NDArray[np.intp]:
    """Days since 1970-01-01."""
    return dates.cast(pl.Int32).to_numpy().astype(np.intp)


def week_ends(first: date, last: date) -> list[date]:
    """Sundays from the week of `first` up to and including `last`."""
    sunday = first + timedelta(days=6 - first.weekday())
    return [sunday + timedelta(days=7 * n) for n in range((last - sunday).days // 7 + 1)]
