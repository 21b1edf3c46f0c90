"""Response: slopes of lifts and girths as arrays for pooling, and the pooled result as a table."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import polars as pl

from analytics.muscles.mixed import Array
from analytics.muscles.pooling import Responses, Slopes, pool_responses

Z80 = 1.2815515655446004
"""Half width of a normal 80 % interval, in standard deviations."""
STALE_DAYS = 56
"""Lifts not done for eight weeks before the athlete's last session say nothing about the present."""
PRIOR_PCT, PRIOR_SD = 0.15, 0.4
"""Mean and spread, % a week, of what the trend holds of a slope before any session: the long-run mix of its
regimes."""
_LEAST_SHARE, _LEAST_SD = 0.25, 0.02
GIRTH_TO_FORCE = 2.0
"""Force goes with the cross-section of a muscle, and that with girth squared (geometry)."""
GIRTH_DISCREPANCY = 0.2
"""Spread, % a week, by which a group's strength and size grow apart: the typical gain itself (our choice)."""
_KEY = ["athlete", "muscle"]


def respond(
    lifts: pl.DataFrame, girths: pl.DataFrame, shares: pl.DataFrame, shortfalls: pl.DataFrame
) -> pl.DataFrame:
    """One row per athlete and muscle group of `shortfalls` (`athlete, muscle, shortfall` from 0 to 1).

    `lifts`: schema.LIFTS, whose slopes are posteriors with 80 % intervals; `girths`: ``girth_rates`` by group
    (`athlete, measure, muscle, girth_pct_per_week, girth_se`); `shares`: of the catalogue.  Columns:
    `response_pct_per_week`, `response_sd`, `others_pct_per_week`, `p_lagging`, and `lifts`, the number of
    lifts with this group as prime mover.
    """
    athletes = shortfalls["athlete"].unique().sort()
    muscles = shortfalls["muscle"].unique().sort()
    if athletes.is_empty():
        return shortfalls.select(_KEY).clear()
    known = pl.col("athlete").is_in(athletes.implode()) & pl.col("muscle").is_in(muscles.implode())
    moved = _lift_rows(lifts).join(shares, on="exercise").with_columns(girth=pl.lit(False))
    taped = _girth_rows(girths)
    rows = pl.concat([moved.select(taped.columns), taped]).filter(known).sort("athlete", "subject", "muscle")
    slopes = _arrays(rows, shortfalls, athletes, muscles)
    counted = rows.filter("direct").group_by(_KEY).agg(lifts=pl.len())
    return (
        _table(pool_responses(slopes), athletes, muscles)
        .join(counted, on=_KEY, how="left")
        .with_columns(pl.col("lifts").fill_null(0))
        .sort(_KEY)
    )


def _lift_rows(lifts: pl.DataFrame) -> pl.DataFrame:
    """Lifts that are still done, with the slope that their sessions alone support."""
    last = pl.col("last_date").max().over("athlete")
    current = lifts.drop_nulls(["slope_pct_per_week", "slope_low", "slope_high"]).filter(
        pl.col("last_date") >= last - timedelta(days=STALE_DAYS)
    )
    slope, error = without_prior(
        current["slope_pct_per_week"].to_numpy(),
        ((current["slope_high"] - current["slope_low"]) / (2 * Z80)).to_numpy(),
    )
    return current.select(
        "athlete", "exercise", subject=pl.concat_str(pl.lit("lift "), "exercise")
    ).with_columns(slope=pl.Series(slope, dtype=pl.Float64), error=pl.Series(error, dtype=pl.Float64))


def without_prior(mean: Array, sd: Array) -> tuple[Array, Array]:
    """Slope and standard error, % a week, that the sessions alone support; `mean`, `sd` (n,): posterior.

    A lift's slope comes with its prior in it.  Pooling would draw it in a second time, so the prior is taken
    out first: precisions subtract, all taken as normal.  A lift that knows hardly more than its prior is left
    with a third of the precision of that prior.
    """
    error = np.maximum(sd, _LEAST_SD)
    own = np.maximum(1.0 - (error / PRIOR_SD) ** 2, _LEAST_SHARE)
    return PRIOR_PCT + (mean - PRIOR_PCT) / own, error / np.sqrt(own)


def _girth_rows(girths: pl.DataFrame) -> pl.DataFrame:
    """Girths as growth of cross-section; each group under the tape has the same share."""
    return girths.select(
        "athlete",
        "muscle",
        subject=pl.concat_str(pl.lit("girth "), "measure"),
        slope=GIRTH_TO_FORCE * pl.col("girth_pct_per_week"),
        error=((GIRTH_TO_FORCE * pl.col("girth_se")) ** 2 + GIRTH_DISCREPANCY**2).sqrt(),
        share=pl.lit(1.0),
        direct=pl.lit(False),
        girth=pl.lit(True),
    )


def _arrays(rows: pl.DataFrame, shortfalls: pl.DataFrame, athletes: pl.Series, muscles: pl.Series) -> Slopes:
    """Padded arrays; `rows` are sorted, one per athlete, lift or girth, and muscle group."""
    placed = rows.with_columns(place=pl.col("subject").rank("dense").over("athlete") - 1)
    places = int(placed["place"].to_numpy().max(initial=0)) + 1
    shape = (len(athletes), places)
    row, column = athletes.search_sorted(placed["athlete"]).to_numpy(), placed["place"].to_numpy()
    group = muscles.search_sorted(placed["muscle"]).to_numpy()
    slope, variance = np.zeros(shape), np.ones(shape)
    slope[row, column], variance[row, column] = placed["slope"].to_numpy(), placed["error"].to_numpy() ** 2
    used, girth = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool)
    used[row, column], girth[row, column] = True, placed["girth"].to_numpy()
    share, prime = np.zeros((*shape, len(muscles))), np.zeros((*shape, len(muscles)), dtype=bool)
    share[row, column, group], prime[row, column, group] = (
        placed["share"].to_numpy(),
        placed["direct"].to_numpy(),
    )
    short = np.zeros((len(athletes), len(muscles)))
    short[
        athletes.search_sorted(shortfalls["athlete"]).to_numpy(),
        muscles.search_sorted(shortfalls["muscle"]).to_numpy(),
    ] = shortfalls["shortfall"].to_numpy()
    return Slopes(
        slope=slope,
        variance=variance,
        girth=girth,
        share=share / np.maximum(share.sum(axis=2, keepdims=True), 1e-12),
        prime=prime,
        shortfall=short,
        used=used,
    )


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
