"""Response: lifts and shares as arrays for pooling, and the pooled result as a table."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import polars as pl

from analytics.muscles.pooling import Responses, Slopes, pool_responses

Z80 = 1.2815515655446004
"""Half width of a normal 80 % interval, in standard deviations."""
STALE_DAYS = 56
"""Lifts not done for eight weeks before the athlete's last session say nothing about the present."""
_LEAST_SD = 0.01


def respond(lifts: pl.DataFrame, shares: pl.DataFrame, shortfalls: pl.DataFrame) -> pl.DataFrame:
    """One row per athlete and muscle group of `shortfalls` (`athlete, muscle, shortfall` from 0 to 1).

    Columns: `response_pct_per_week`, `response_sd`, `others_pct_per_week`, `p_lagging`, `lifts` (lifts with
    this group as prime mover).  Slopes are taken as normal with their 80 % intervals.
    """
    athletes = shortfalls["athlete"].unique().sort()
    muscles = shortfalls["muscle"].unique().sort()
    if athletes.is_empty():
        return shortfalls.select("athlete", "muscle").clear()
    used = _current(lifts, shares, athletes)
    slopes = _arrays(used, shares, shortfalls, athletes, muscles)
    direct = (
        used.join(shares.filter("direct"), on="exercise").group_by("athlete", "muscle").agg(lifts=pl.len())
    )
    return (
        _table(pool_responses(slopes), athletes, muscles)
        .join(direct, on=["athlete", "muscle"], how="left")
        .with_columns(pl.col("lifts").fill_null(0))
        .sort("athlete", "muscle")
    )


def _current(lifts: pl.DataFrame, shares: pl.DataFrame, athletes: pl.Series) -> pl.DataFrame:
    """Lifts with a slope that are known to the catalogue and still done, with slope, variance and place."""
    known = lifts.filter(
        pl.col("athlete").is_in(athletes.implode())
        & pl.col("exercise").is_in(shares["exercise"].unique().implode())
    ).drop_nulls(["slope_pct_per_week", "slope_low", "slope_high"])
    last = pl.col("last_date").max().over("athlete")
    return (
        known.filter(pl.col("last_date") >= last - timedelta(days=STALE_DAYS))
        .sort("athlete", "exercise")
        .select(
            "athlete",
            "exercise",
            slope="slope_pct_per_week",
            sd=((pl.col("slope_high") - pl.col("slope_low")) / (2 * Z80)).clip(lower_bound=_LEAST_SD),
            place=pl.int_range(pl.len()).over("athlete"),
        )
    )


def _arrays(
    used: pl.DataFrame,
    shares: pl.DataFrame,
    shortfalls: pl.DataFrame,
    athletes: pl.Series,
    muscles: pl.Series,
) -> Slopes:
    places = int(used["place"].to_numpy().max(initial=0)) + 1
    shape = (len(athletes), places)
    row, column = athletes.search_sorted(used["athlete"]).to_numpy(), used["place"].to_numpy()
    slope, variance = np.zeros(shape), np.ones(shape)
    slope[row, column], variance[row, column] = used["slope"].to_numpy(), used["sd"].to_numpy() ** 2
    present = np.zeros(shape, dtype=bool)
    present[row, column] = True
    share, prime = np.zeros((*shape, len(muscles))), np.zeros((*shape, len(muscles)), dtype=bool)
    spread = used.join(shares.filter(pl.col("muscle").is_in(muscles.implode())), on="exercise")
    cell = (
        athletes.search_sorted(spread["athlete"]).to_numpy(),
        spread["place"].to_numpy(),
        muscles.search_sorted(spread["muscle"]).to_numpy(),
    )
    share[cell], prime[cell] = spread["share"].to_numpy(), spread["direct"].to_numpy()
    share /= np.maximum(share.sum(axis=2, keepdims=True), 1e-12)
    short = np.zeros((len(athletes), len(muscles)))
    short[
        athletes.search_sorted(shortfalls["athlete"]).to_numpy(),
        muscles.search_sorted(shortfalls["muscle"]).to_numpy(),
    ] = shortfalls["shortfall"].to_numpy()
    return Slopes(slope=slope, variance=variance, share=share, prime=prime, shortfall=short, used=present)


def _table(found: Responses, athletes: pl.Series, muscles: pl.Series) -> pl.DataFrame:
    count = len(muscles)
    return pl.DataFrame(
        {
            "athlete": athletes.gather(np.repeat(np.arange(len(athletes)), count)),
            "muscle": muscles.gather(np.tile(np.arange(count), len(athletes))),
            "response_pct_per_week": found.mean.ravel(),
            "response_sd": found.sd.ravel(),
            "others_pct_per_week": found.others.ravel(),
            "p_lagging": found.p_lagging.ravel(),
        }
    )
