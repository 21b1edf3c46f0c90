"""Suspect: sets that are implausible against the athlete's own history, kept but marked."""

from __future__ import annotations

import polars as pl

from analytics.schema import KG_PER_LB

HISTORY_DAYS = 8
LEAST_DAYS = 3
TEN_FOLD = (7.0, 14.0)
MIX_UP_TOLERANCE = 0.06


def mark_suspect(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` (ordered) with `suspect`; only earlier days and the same day are looked at.

    The usual load is the median of the heaviest loads of the last eight days of that exercise, at least three.
    Suspect are a set of seven to fourteen times the usual load or of both its neighbours, or of a seventh to a
    fourteenth of both; a day whose heaviest load is that far below the usual one; and every set of a day whose
    heaviest load is 1 / 0.4536 or 0.4536 times the usual one to 6 % (pounds taken for kilograms, or the other way).
     Loads with bodyweight in them are left out.  The limits are our own rule, no source.
    """
    group = ["athlete", "lift", "date"]
    load = pl.when(~pl.col("moved") & (pl.col("load_kg") > 0)).then("load_kg")
    rows = rows.with_columns(load.alias("plain_kg"))
    tops = (
        rows.lazy()
        .filter(pl.col("plain_kg").is_not_null())
        .group_by(group)
        .agg(pl.col("plain_kg").max().alias("top"))
        .sort(group)
        .with_columns(
            pl.col("top")
            .rolling_median(HISTORY_DAYS, min_samples=LEAST_DAYS)
            .shift()
            .over(["athlete", "lift"])
            .alias("usual")
        )
        .with_columns((pl.col("top") / pl.col("usual")).alias("ratio"))
        .filter(
            pl.col("usual").is_not_null()
            & (
                (pl.col("ratio") < 1 / TEN_FOLD[0])
                | (pl.col("ratio") > TEN_FOLD[0])
                | _near(pl.col("ratio"), 1 / KG_PER_LB)
                | _near(pl.col("ratio"), KG_PER_LB)
            )
        )
        .collect()
    )
    return rows.with_columns(_within_day(rows) | _against_history(rows, tops, group)).drop("plain_kg")


def _near(ratio: pl.Expr, wanted: float) -> pl.Expr:
    return ratio.is_between(wanted * (1 - MIX_UP_TOLERANCE), wanted * (1 + MIX_UP_TOLERANCE))


def _against_history(rows: pl.DataFrame, tops: pl.DataFrame, group: list[str]) -> pl.Series:
    """Days that are off as a whole, and single sets of ten times the usual load."""
    if not tops.height:
        return pl.repeat(False, rows.height, dtype=pl.Boolean, eager=True).alias("suspect")
    found = rows.select(*group, "plain_kg").join(tops, on=group, how="left", maintain_order="left")
    mixed = _near(pl.col("ratio"), 1 / KG_PER_LB) | _near(pl.col("ratio"), KG_PER_LB)
    high = (pl.col("plain_kg") / pl.col("usual")).is_between(*TEN_FOLD)
    low = (1 / pl.col("ratio")).is_between(*TEN_FOLD)
    return found.select((mixed | high | low).fill_null(False).alias("suspect")).get_column("suspect")


def _within_day(rows: pl.DataFrame) -> pl.Series:
    """Sets of ten times both neighbours, or of a tenth of both."""
    load = pl.col("plain_kg")

    def beside(step: int) -> pl.Expr:
        same = pl.all_horizontal(
            pl.col(name) == pl.col(name).shift(step) for name in ("athlete", "date", "lift")
        )
        return pl.when(same).then(load.shift(step))

    before, after = beside(1), beside(-1)
    high = (load / before).is_between(*TEN_FOLD) & (load / after).is_between(*TEN_FOLD)
    low = (before / load).is_between(*TEN_FOLD) & (after / load).is_between(*TEN_FOLD)
    return rows.select((high | low).fill_null(False).alias("suspect")).get_column("suspect")
