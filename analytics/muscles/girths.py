"""Girths: how fast each tape measure grows beyond what bodyweight explains, per muscle group."""

from __future__ import annotations

from collections.abc import Mapping
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


def girth_rates(checkins: pl.DataFrame, catalogue: Catalogue, as_of: date) -> pl.DataFrame:
    """One row per athlete and muscle group with a girth: `athlete, muscle, girth_pct_per_week, girth_se`.

    Rates are % a week over the last twelve weeks, left and right averaged, minus half the rate of bodyweight
    over the same weeks.  A girth with fewer than two dates gives no row; without a bodyweight rate nothing is
    subtracted.
    """
    recent = checkins.filter(
        (pl.col("date") <= as_of)
        & (pl.col("date") > as_of - timedelta(days=WINDOW_DAYS))
        & pl.col("unit").is_in(["kg", "cm"])
        & (pl.col("value") > 0)
    )
    rates = _rates(recent)
    weight = rates.filter(pl.col("measure") == "bodyweight").select("athlete", weight="rate", weight_se="se")
    muscles = _muscle_table(catalogue.girths)
    return (
        rates.join(muscles, on="measure")
        .join(weight, on="athlete", how="left")
        .with_columns(
            net=pl.col("rate") - GIRTH_EXPONENT * pl.col("weight").fill_null(0.0),
            var=pl.col("se") ** 2 + (GIRTH_EXPONENT * pl.col("weight_se").fill_null(0.0)) ** 2,
        )
        .group_by("athlete", "muscle")
        .agg(girth_pct_per_week=pl.col("net").mean(), girth_se=pl.col("var").mean().sqrt())
        .sort("athlete", "muscle")
    )


def weight_rates(checkins: pl.DataFrame, as_of: date, days: int) -> pl.DataFrame:
    """Bodyweight rate over the last `days` days: `athlete, weight_pct_per_week`, one row per athlete."""
    recent = checkins.filter(
        (pl.col("date") <= as_of)
        & (pl.col("date") > as_of - timedelta(days=days))
        & (pl.col("measure") == "bodyweight")
        & (pl.col("value") > 0)
    )
    return _rates(recent).select("athlete", weight_pct_per_week="rate")


def _muscle_table(girths: Mapping[str, tuple[str, ...]]) -> pl.DataFrame:
    rows = [
        (girth, muscle) for girth, muscles in girths.items() if girth not in FAT_GIRTHS for muscle in muscles
    ]
    return pl.DataFrame(rows, schema={"measure": pl.String, "muscle": pl.String}, orient="row")


def _rates(measures: pl.DataFrame) -> pl.DataFrame:
    """Slope of each log measure, % a week, with its standard error; sides are averaged per day."""
    daily = (
        measures.group_by("athlete", "measure", "date")
        .agg(y=pl.col("value").log().mean())
        .sort("athlete", "measure", "date")
        .with_columns(t=pl.col("date").dt.epoch("d").cast(pl.Float64))
        .with_columns(pl.col("t", "y") - pl.col("t", "y").mean().over("athlete", "measure"))
    )
    sums = (
        daily.group_by("athlete", "measure", maintain_order=True)
        .agg(
            n=pl.len().cast(pl.Float64),
            st=pl.col("t").sum(),
            stt=(pl.col("t") ** 2).sum(),
            sy=pl.col("y").sum(),
            sty=(pl.col("t") * pl.col("y")).sum(),
            syy=(pl.col("y") ** 2).sum(),
            first=pl.col("t").min(),
            last=pl.col("t").max(),
        )
        .filter(pl.col("n") >= 2)
    )
    column = {name: sums[name].to_numpy() for name in sums.columns[2:]}
    spread = np.where((sums["measure"] == "bodyweight").to_numpy(), WEIGH_IN_SPREAD, TAPE_SPREAD)
    line = fit_lines(
        Sums(
            n=column["n"],
            t=column["st"],
            tt=column["stt"],
            y=column["sy"],
            ty=column["sty"],
            yy=column["syy"],
        ),
        column["first"],
        column["last"],
        spread,
    )
    return sums.select("athlete", "measure").with_columns(
        rate=pl.Series(line.slope * 700, dtype=pl.Float64),
        se=pl.Series(line.slope_se * 700, dtype=pl.Float64),
    )
