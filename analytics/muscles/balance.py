"""Balance: opposing muscle groups against each other, and left against right, as ratios with intervals."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl
from scipy.special import stdtrit

from analytics.catalogue import Catalogue
from analytics.muscles.counts import mark_sets
from analytics.muscles.girths import FAT_GIRTHS, TAPE_SPREAD
from analytics.muscles.lines import PRIOR_DF
from analytics.schema import BALANCE, conform

WEEKS = 8
STRENGTH_DAYS, GIRTH_DAYS = 84, 84
MOST_REPS = 15
SIDE_SPREAD = 0.05
"""Spread of one day's left-right difference in log strength: 5 %, a little above the 4.2 % by which a
one-repetition maximum varies from test to test (Grgic et al. 2020, Sports Med Open 6:31)."""


@dataclass(frozen=True, kw_only=True)
class BalanceInputs:
    """`weeks`: schema.MUSCLE_WEEKS, `sets`: schema.SETS, `checkins`: schema.CHECKINS, of many athletes."""

    weeks: pl.DataFrame
    sets: pl.DataFrame
    checkins: pl.DataFrame
    catalogue: Catalogue
    as_of: date


def balance(inputs: BalanceInputs) -> pl.DataFrame:
    """schema.BALANCE: ratios with 80 % intervals; pairs with nothing on one side are left out.

    `opposing_sets`: fractional sets of the catalogue's opposing groups over the last eight trained weeks, the
    interval from week to week.  `left_right_sets`: the same for sets logged by side.  `left_right_strength`:
    best set of each side on the same day, load x (1 + reps / 30), over twelve weeks; exercise and formula
    cancel in the ratio.  `left_right_girth`: tape measures of the same day.  None has a published norm for
    athletes of this kind, so no ratio is called good or bad.
    """
    parts = [
        _opposing(inputs),
        _side_sets(inputs),
        _side_strength(inputs),
        _side_girths(inputs),
    ]
    return conform(pl.concat(parts), BALANCE)


def _trained_weeks(inputs: BalanceInputs) -> pl.DataFrame:
    """Counts of each athlete's last eight complete weeks with any set."""
    complete = inputs.weeks.filter(pl.col("week_end") <= inputs.as_of)
    trained = (
        complete.group_by("athlete", "week_end")
        .agg(total=pl.col("total_sets").sum())
        .filter(pl.col("total") > 0)
        .filter(pl.col("week_end").rank("ordinal", descending=True).over("athlete") <= WEEKS)
    )
    return complete.join(trained.select("athlete", "week_end"), on=["athlete", "week_end"])


def _opposing(inputs: BalanceInputs) -> pl.DataFrame:
    names = inputs.catalogue.muscle_names
    pairs = pl.DataFrame(
        [(one, other, f"{names[one]} : {names[other].lower()}") for one, other in inputs.catalogue.opposing],
        schema={"one": pl.String, "other": pl.String, "pair": pl.String},
        orient="row",
    )
    recent = _trained_weeks(inputs).select("athlete", "week_end", "muscle", "fractional_sets")
    both = (
        recent.join(pairs, left_on="muscle", right_on="one")
        .rename({"fractional_sets": "a"})
        .join(recent.rename({"muscle": "other", "fractional_sets": "b"}), on=["athlete", "week_end", "other"])
    )
    return _ratio_of_sums(both, "opposing_sets", "fractional sets")


def _side_sets(inputs: BalanceInputs) -> pl.DataFrame:
    names = pl.col("muscle").replace_strict(dict(inputs.catalogue.muscle_names))
    both = _trained_weeks(inputs).with_columns(
        pair=pl.format("{}, left : right", names), a=pl.col("left_sets"), b=pl.col("right_sets")
    )
    return _ratio_of_sums(both, "left_right_sets", "sets logged by side")


def _ratio_of_sums(both: pl.DataFrame, kind: str, what: str) -> pl.DataFrame:
    """Ratio of two weekly counts, sum over sum; its log error by leaving out one week at a time.

    The jackknife of a ratio: Efron and Stein 1981, Annals of Statistics 9:586 (from memory).
    """
    key = ["athlete", "pair"]
    sums = both.with_columns(
        total_a=pl.col("a").sum().over(key), total_b=pl.col("b").sum().over(key), n=pl.len().over(key)
    ).filter((pl.col("total_a") > 0) & (pl.col("total_b") > 0))
    # A week that holds all of one side cannot be left out; half a set keeps its logarithm finite.
    left_out = (
        pl.max_horizontal(pl.col("total_a") - pl.col("a"), pl.lit(0.5)).log()
        - pl.max_horizontal(pl.col("total_b") - pl.col("b"), pl.lit(0.5)).log()
    )
    found = (
        sums.with_columns(left_out=left_out)
        .sort(*key, "week_end")
        .group_by(key, maintain_order=True)
        .agg(pl.col("total_a", "total_b", "n").first(), "left_out")
        # Lists keep the order of the weeks; a sum over groups would not promise one.
        .with_columns(square=pl.col("left_out").list.var(0) * pl.col("n"))
        .with_columns(
            log_ratio=(pl.col("total_a") / pl.col("total_b")).log(),
            se=pl.when(pl.col("n") > 1).then((pl.col("square") * (pl.col("n") - 1) / pl.col("n")).sqrt()),
            df=(pl.col("n") - 1).cast(pl.Float64),
            basis=pl.format(
                "{} beside {} {} in {} weeks",
                pl.col("total_a").round(1),
                pl.col("total_b").round(1),
                pl.lit(what),
                "n",
            ),
        )
    )
    return _with_interval(found, kind)


def _side_strength(inputs: BalanceInputs) -> pl.DataFrame:
    names = pl.col("muscle").replace_strict(dict(inputs.catalogue.muscle_names))
    direct = inputs.catalogue.shares().filter("direct").select("exercise", "muscle")
    marked = mark_sets(
        inputs.sets.filter(
            pl.col("side").is_not_null() & (pl.col("date") > inputs.as_of - timedelta(days=STRENGTH_DAYS))
        ),
        inputs.as_of,
    )
    best = (
        marked.filter(
            pl.col("hard")
            & ~pl.col("suspect")
            & pl.col("reps").is_between(1, MOST_REPS)
            & (pl.col("load_kg") > 0)
        )
        .group_by("athlete", "exercise", "date")
        .agg(
            (pl.col("load_kg") * (1 + pl.col("reps") / 30))
            .filter(pl.col("side") == side)
            .max()
            .log()
            .alias(side)
            for side in ("left", "right")
        )
        .drop_nulls()
        .join(direct, on="exercise")
        .with_columns(pair=pl.format("{}, left : right", names), difference=pl.col("left") - pl.col("right"))
    )
    return _mean_difference(best, "left_right_strength", SIDE_SPREAD, "days with both sides")


def _side_girths(inputs: BalanceInputs) -> pl.DataFrame:
    measured = inputs.checkins.filter(
        (pl.col("unit") == "cm")
        & pl.col("side").is_not_null()
        & ~pl.col("measure").is_in(FAT_GIRTHS)
        & (pl.col("value") > 0)
        & (pl.col("date") <= inputs.as_of)
        & (pl.col("date") > inputs.as_of - timedelta(days=GIRTH_DAYS))
    )
    words = pl.col("measure").str.replace_all("_", " ")
    both = (
        measured.group_by("athlete", "date", "measure")
        .agg(
            pl.col("value").filter(pl.col("side") == side).mean().log().alias(side)
            for side in ("left", "right")
        )
        .drop_nulls()
        .with_columns(
            pair=pl.format(
                "{}{} girth, left : right", words.str.head(1).str.to_uppercase(), words.str.slice(1)
            ),
            difference=pl.col("left") - pl.col("right"),
        )
    )
    return _mean_difference(both, "left_right_girth", TAPE_SPREAD * np.sqrt(2), "days measured on both sides")


def _mean_difference(both: pl.DataFrame, kind: str, spread: float, what: str) -> pl.DataFrame:
    """Mean log difference of paired values, its noise shrunk towards `spread` as in ``lines``."""
    gap = pl.col("difference")
    found = (
        both.sort("athlete", "pair", "date", "difference")
        .group_by("athlete", "pair", maintain_order=True)
        .agg("difference", n=pl.len())
        .with_columns(log_ratio=gap.list.mean(), square=gap.list.var(0) * pl.col("n"))
        .with_columns(df=(pl.col("n") - 1 + PRIOR_DF))
        .with_columns(
            se=((pl.col("square") + PRIOR_DF * spread**2) / pl.col("df") / pl.col("n")).sqrt(),
            basis=pl.format("{} {}", "n", pl.lit(what)),
        )
    )
    return _with_interval(found, kind)


def _with_interval(found: pl.DataFrame, kind: str) -> pl.DataFrame:
    df = np.maximum(found["df"].cast(pl.Float64).to_numpy(), 1.0)
    half = pl.Series("half", stdtrit(df, 0.9), dtype=pl.Float64) * found["se"]
    return found.with_columns(half=half).select(
        "athlete",
        "pair",
        kind=pl.lit(kind),
        ratio=pl.col("log_ratio").exp(),
        ratio_low=(pl.col("log_ratio") - pl.col("half")).exp(),
        ratio_high=(pl.col("log_ratio") + pl.col("half")).exp(),
        basis="basis",
    )
