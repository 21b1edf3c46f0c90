"""Suspect: sets that are implausible against the athlete's own history, kept but marked."""

from __future__ import annotations

import polars as pl

from analytics.schema import KG_PER_LB

HISTORY = 8
LEAST_HISTORY = 3
TEN_FOLD = (7.0, 14.0)
MIX_UP_TOLERANCE = 0.06


def mark_suspect(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` with `suspect`: only earlier days and the same day are looked at, so later rows change nothing.

    A set is suspect if its load is about ten times the usual heaviest of the last eight days of that
    exercise, or a tenth of the other sets of the day; a whole day if its heaviest load is 2.2 times or 0.45
    times the usual one (pounds read as kilograms, or the other way).  At least three earlier days are needed.
    """
    day = ["athlete", "exercise_id", "date"]
    loaded = pl.col("load_kg") - pl.when("moved").then("bodyweight_kg").otherwise(0.0) * pl.col(
        "share"
    ).fill_null(0.0)
    rows = rows.with_columns(pl.when(pl.col("moved")).then(None).otherwise(loaded).alias("own_load"))
    tops = (
        rows.filter(pl.col("own_load") > 0)
        .group_by(day)
        .agg(pl.col("own_load").max().alias("top"), pl.col("own_load").median().alias("mid"))
        .sort(day)
        .with_columns(
            pl.col("top")
            .rolling_median(HISTORY, min_samples=LEAST_HISTORY)
            .shift()
            .over(["athlete", "exercise_id"], order_by="date")
            .alias("usual")
        )
    )
    ratio = pl.col("top") / pl.col("usual")
    up, down = 1 / KG_PER_LB, KG_PER_LB
    tops = tops.with_columns(
        (
            ratio.is_between(up * (1 - MIX_UP_TOLERANCE), up * (1 + MIX_UP_TOLERANCE))
            | ratio.is_between(down * (1 - MIX_UP_TOLERANCE), down * (1 + MIX_UP_TOLERANCE))
        )
        .fill_null(False)
        .alias("mixed")
    )
    rows = rows.join(tops, on=day, how="left", maintain_order="left")
    tenfold = (pl.col("own_load") / pl.col("usual")).is_between(*TEN_FOLD)
    typo_up = (pl.col("own_load") / pl.col("mid")).is_between(*TEN_FOLD)
    tenth = (
        (pl.col("usual") / pl.col("own_load")).is_between(*TEN_FOLD)
        & (pl.col("own_load") < 0.2 * pl.col("mid"))
        & (pl.col("reps") <= 15)
    )
    return rows.with_columns(
        pl.any_horizontal(tenfold, typo_up, tenth, pl.col("mixed")).fill_null(False).alias("suspect")
    ).drop("top", "mid", "usual", "mixed", "own_load")
