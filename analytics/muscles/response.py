"""Response: slopes of lifts and girths as arrays for pooling, and the pooled result as a table."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.muscles.mixed import Array
from analytics.muscles.pooling import Evidence, Responses, pool_responses
from analytics.schema import Z80

STALE_DAYS = 56
"""Lifts not done for eight weeks before the athlete's last session say nothing about the present."""
GIRTH_TO_FORCE = 2.0
"""Force goes with the cross-section of a muscle, and that with girth squared (geometry)."""
GIRTH_DISCREPANCY = 0.2
"""Spread, % a week, by which a group's strength and size grow apart: the typical gain itself (our choice)."""
_LEAST_ERROR = 0.02
_KEY = ["athlete", "muscle"]


def respond(
    lifts: pl.DataFrame, girths: pl.DataFrame, shares: pl.DataFrame, shortfalls: pl.DataFrame
) -> pl.DataFrame:
    """One row per athlete and muscle group of `shortfalls` (`athlete, muscle, shortfall` from 0 to 1).

    `lifts`: schema.LIFTS, slopes taken as normal with their 80 % intervals; `girths`: ``girth_rates`` by
    group (`athlete, measure, muscle, girth_pct_per_week, girth_se`); `shares`: of the catalogue.  Columns:
    `response_pct_per_week`, `response_sd`, `others_pct_per_week`, `p_lagging`, `lifts`, the number of lifts
    with this group as prime mover, and `twins`, the groups that have exactly the same ones.
    """
    athletes = shortfalls["athlete"].unique().sort()
    muscles = shortfalls["muscle"].unique().sort()
    if athletes.is_empty():
        return shortfalls.select(_KEY).clear()
    known = pl.col("athlete").is_in(athletes.implode()) & pl.col("muscle").is_in(muscles.implode())
    moved = _lift_rows(lifts, shares).filter(known)
    found = pool_responses(_evidence(moved, _girth_rows(girths).filter(known), shortfalls, athletes, muscles))
    return (
        _table(found, athletes, muscles)
        .join(_counted(moved), on=_KEY, how="left")
        .with_columns(pl.col("lifts").fill_null(0))
        .sort(_KEY)
    )


def _counted(moved: pl.DataFrame) -> pl.DataFrame:
    """Lifts of each group, and the groups that have exactly the same ones and so cannot be told from it."""
    own = moved.group_by(_KEY).agg(lifts=pl.len(), same=pl.col("subject").sort().str.join("|"))
    twins = own.select("athlete", "same", twin="muscle")
    told = (
        own.join(twins, on=["athlete", "same"])
        .filter(pl.col("twin") != pl.col("muscle"))
        .group_by(_KEY)
        .agg(twins=pl.col("twin").sort())
    )
    return own.drop("same").join(told, on=_KEY, how="left")


def _lift_rows(lifts: pl.DataFrame, shares: pl.DataFrame) -> pl.DataFrame:
    """Lifts that are still done and their prime movers: slope and error."""
    last = pl.col("last_date").max().over("athlete")
    current = lifts.drop_nulls(["slope_pct_per_week", "slope_low", "slope_high"]).filter(
        pl.col("last_date") >= last - timedelta(days=STALE_DAYS)
    )
    half = (pl.col("slope_high") - pl.col("slope_low")) / 2
    # Times, not over: Polars divides a column of one row otherwise than a longer one, in the last bit.
    return current.select(
        "athlete",
        "exercise",
        subject="exercise",
        value="slope_pct_per_week",
        error=(half * (1 / Z80)).clip(lower_bound=_LEAST_ERROR),
    ).join(shares.filter("direct").select("exercise", "muscle"), on="exercise")


def _girth_rows(girths: pl.DataFrame) -> pl.DataFrame:
    """Girths as growth of cross-section, and the groups under the tape."""
    return girths.select(
        "athlete",
        "muscle",
        subject="measure",
        value=GIRTH_TO_FORCE * pl.col("girth_pct_per_week"),
        error=((GIRTH_TO_FORCE * pl.col("girth_se")) ** 2 + GIRTH_DISCREPANCY**2).sqrt(),
    )


def _evidence(
    lifts: pl.DataFrame,
    girths: pl.DataFrame,
    shortfalls: pl.DataFrame,
    athletes: pl.Series,
    muscles: pl.Series,
) -> Evidence:
    """Padded arrays, one row per athlete."""
    slope, error, lifted, prime = _padded(lifts, athletes, muscles)
    growth, growth_error, taped, under = _padded(girths, athletes, muscles)
    short = np.zeros((len(athletes), len(muscles)))
    row, group = _places(shortfalls, athletes, muscles)
    short[row, group] = shortfalls["shortfall"].to_numpy()
    return Evidence(
        slope=slope,
        error=error,
        lifted=lifted,
        prime=prime,
        growth=growth,
        growth_error=growth_error,
        taped=taped,
        under=under / np.maximum(under.sum(axis=2, keepdims=True), 1.0),
        shortfall=short,
    )


def _padded(
    rows: pl.DataFrame, athletes: pl.Series, muscles: pl.Series
) -> tuple[Array, Array, NDArray[np.bool_], Array]:
    """Value, error, whether a place is taken, and 1 where a subject concerns a group."""
    place = (
        rows.select(pl.col("subject").rank("dense").over("athlete"))["subject"].cast(pl.Int64) - 1
    ).to_numpy()
    shape = (len(athletes), int(place.max(initial=0)) + 1)
    row, group = _places(rows, athletes, muscles)
    value, error, taken = np.zeros(shape), np.zeros(shape), np.zeros(shape, dtype=bool)
    concerns = np.zeros((*shape, len(muscles)))
    value[row, place], error[row, place] = rows["value"].to_numpy(), rows["error"].to_numpy()
    taken[row, place], concerns[row, place, group] = True, 1.0
    return value, error, taken, concerns


def _places(
    rows: pl.DataFrame, athletes: pl.Series, muscles: pl.Series
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    found = (athletes.search_sorted(rows["athlete"]), muscles.search_sorted(rows["muscle"]))
    return found[0].to_numpy().astype(np.intp), found[1].to_numpy().astype(np.intp)


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
