"""Load: session RPE x minutes per day, with monotony and strain over seven days.

Foster 1998, Med Sci Sports Exerc 30:1164, and Foster et al. 2001, J Strength Cond Res 15:109 (formulas from
memory).  No ratio of recent to past load is offered: it predicts no injury (Impellizzeri et al. 2021, Sports
Med 51:581).
"""

from __future__ import annotations

from datetime import date

import polars as pl

from analytics.schema import SESSION_LOAD, conform

_DAYS = 7


def session_load(checkins: pl.DataFrame, sets: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """schema.SESSION_LOAD: one row per athlete and day, in RPE points x minutes.

    A day with sets but without a rated session is missing, not a rest day: its load is empty, and so are the
    sums of every seven days that hold it.  Monotony is the mean daily load over the standard deviation with
    n - 1; it is empty when that is zero (every day equal, or no load at all).
    """
    rated = _rated(checkins, as_of)
    if rated.is_empty():
        return SESSION_LOAD.empty()
    span = rated.group_by("athlete").agg(first=pl.col("date").min(), date=pl.col("date").max())
    days = span.select("athlete", date=pl.date_ranges("first", "date")).explode("date")
    half_rated = checkins.filter(pl.col("unit").is_in(["rpe", "min"]))
    trained = pl.concat([sets.select("athlete", "date"), half_rated.select("athlete", "date")]).unique()
    known = (
        days.join(rated, on=["athlete", "date"], how="left")
        .join(trained.with_columns(trained=True), on=["athlete", "date"], how="left")
        .sort("athlete", "date")
        .with_columns(
            load=pl.when(pl.col("load").is_null() & pl.col("trained").is_null()).then(0.0).otherwise("load")
        )
    )
    mean = pl.col("load").rolling_mean(_DAYS).over("athlete")
    spread = pl.col("load").rolling_std(_DAYS, ddof=1).over("athlete")
    return conform(
        known.with_columns(week_load=mean * _DAYS, spread=spread, flat=_flat())
        .with_columns(monotony=pl.when(~pl.col("flat")).then(pl.col("week_load") / _DAYS / pl.col("spread")))
        .with_columns(strain=pl.col("week_load") * pl.col("monotony")),
        SESSION_LOAD,
    )


def _flat() -> pl.Expr:
    """Seven equal days, told exactly and not by a rounded standard deviation."""
    lowest = pl.col("load").rolling_min(_DAYS).over("athlete")
    return lowest == pl.col("load").rolling_max(_DAYS).over("athlete")


def _rated(checkins: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """Athlete, date, load of the day: ratings and minutes of one day that belong together, summed."""
    known = checkins.filter((pl.col("date") <= as_of) & pl.col("unit").is_in(["rpe", "min"])).drop_nulls(
        "value"
    )
    numbered = known.sort("athlete", "date", "unit", "measure").with_columns(
        nth=pl.int_range(pl.len()).over("athlete", "date", "unit")
    )
    key = ["athlete", "date", "nth"]
    ratings = numbered.filter(pl.col("unit") == "rpe").select(*key, rating="value")
    minutes = numbered.filter(pl.col("unit") == "min").select(*key, minutes="value")
    return (
        ratings.join(minutes, on=key)
        .group_by("athlete", "date")
        .agg(load=(pl.col("rating") * pl.col("minutes")).sum())
    )
