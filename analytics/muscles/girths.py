"""Girths: how fast each tape measure grows beyond what bodyweight explains."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import polars as pl

from analytics.catalogue import Catalogue
from analytics.muscles.bodyweight import WEIGH_IN_SPREAD
from analytics.muscles.lines import Sums, fit_lines

GIRTH_EXPONENT = 0.5
"""Girth follows bodyweight to this power at constant height: mass = length x cross-section, and
cross-section goes with girth squared (geometry)."""
TAPE_SPREAD = 0.01
"""Spread of one tape measurement as a share of the girth: 1 %, from memory."""
WINDOW_DAYS = 84
FAT_GIRTHS = ("waist", "hips")
"""Follow fat before muscle, so they say nothing about a group (common practice, no source)."""


def girth_rates(checkins: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """One row per athlete and girth: `athlete, measure, girth_pct_per_week, girth_se`, sorted.

    Rates are % a week over the last twelve weeks, left and right averaged, minus half the rate of bodyweight
    over the same weeks.  A girth with fewer than two dates gives no row; without a bodyweight rate nothing is
    subtracted.
    """
    rates = _rates(_recent(checkins, as_of, WINDOW_DAYS))
    weight = rates.filter(pl.col("measure") == "bodyweight").select("athlete", weight="rate", weight_se="se")
    girths = rates.filter((pl.col("measure") != "bodyweight") & ~pl.col("measure").is_in(FAT_GIRTHS))
    explained = GIRTH_EXPONENT * pl.col("weight").fill_null(0.0)
    explained_se = GIRTH_EXPONENT * pl.col("weight_se").fill_null(0.0)
    return (
        girths.join(weight, on="athlete", how="left")
        .select(
            "athlete",
            "measure",
            girth_pct_per_week=pl.col("rate") - explained,
            girth_se=(pl.col("se") ** 2 + explained_se**2).sqrt(),
        )
        .sort("athlete", "measure")
    )


def girth_muscles(catalogue: Catalogue) -> pl.DataFrame:
    """Which muscle groups lie under which girth: `measure, muscle`."""
    rows = [
        (girth, muscle)
        for girth, muscles in catalogue.girths.items()
        if girth not in FAT_GIRTHS
        for muscle in muscles
    ]
    return pl.DataFrame(rows, schema={"measure": pl.String, "muscle": pl.String}, orient="row")


def weight_rates(checkins: pl.DataFrame, as_of: date, days: int) -> pl.DataFrame:
    """Bodyweight rate over the last `days` days, % a week: `athlete, weight_pct_per_week`."""
    recent = _recent(checkins, as_of, days).filter(pl.col("measure") == "bodyweight")
    return _rates(recent).select("athlete", weight_pct_per_week="rate")


def _recent(checkins: pl.DataFrame, as_of: date, days: int) -> pl.DataFrame:
    """Measures of bodyweight and girths in the last `days` days."""
    return checkins.filter(
        (pl.col("date") <= as_of)
        & (pl.col("date") > as_of - timedelta(days=days))
        & pl.col("unit").is_in(["kg", "cm"])
        & (pl.col("value") > 0)
    )


def _rates(measures: pl.DataFrame) -> pl.DataFrame:
    """Slope of each log measure, % a week, with its standard error; sides are averaged per day."""
    key = ["athlete", "measure"]
    daily = (
        measures.sort(*key, "date", "side", nulls_last=True)
        .group_by(*key, "date", maintain_order=True)
        .agg(y=pl.col("value").log())
        .with_columns(y=pl.col("y").list.mean(), t=pl.col("date").dt.epoch("d").cast(pl.Float64))
        .with_columns(pl.col("t") - pl.col("t").min().over(key), pl.col("y") - pl.col("y").first().over(key))
    )
    # Lists keep the order of the days; a sum over groups would not promise one.
    t, y = pl.col("t"), pl.col("y")
    products = {"st": t, "stt": t**2, "sy": y, "sty": t * y, "syy": y**2}
    sums = (
        daily.group_by(key, maintain_order=True)
        .agg(n=pl.len().cast(pl.Float64), first=pl.col("t").min(), last=pl.col("t").max(), **products)
        .with_columns(pl.col(*products).list.sum())
        .filter(pl.col("n") >= 2)
    )
    at = {name: sums[name].to_numpy() for name in sums.columns[2:]}
    spread = np.where((sums["measure"] == "bodyweight").to_numpy(), WEIGH_IN_SPREAD, TAPE_SPREAD)
    line = fit_lines(
        Sums(n=at["n"], t=at["st"], tt=at["stt"], y=at["sy"], ty=at["sty"], yy=at["syy"]),
        at["first"],
        at["last"],
        spread,
    )
    return sums.select("athlete", "measure").with_columns(
        rate=pl.Series(line.slope * 700, dtype=pl.Float64),
        se=pl.Series(line.slope_se * 700, dtype=pl.Float64),
    )
