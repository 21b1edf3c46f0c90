"""Counts: hard sets, days, tonnage and reps per athlete, muscle group and ISO week.

A hard set is a working or back-off set that was not logged as easier than four reps in reserve.  The head of
a drop or rest-pause chain is one set; its segments add nothing, because no published rule says how to count
them and trials find similar effects (Coleman et al. 2022, IJSC 2(1); Sodal et al. 2023, Sports Med Open
9:66).  An assisting muscle gets the catalogue's share, half a set by default: the fractional count of
Pelland et al. 2025 (doi 10.1007/s40279-025-02344-w).  Both choices are read low and high beside the count.
"""

from __future__ import annotations

from datetime import date

import polars as pl

from analytics.catalogue import Catalogue
from analytics.schema import HARD_ROLES, MUSCLE_WEEKS, conform

EASIEST_RIR = 4
"""A set logged with more reps in reserve is no hard set (common practice, no source)."""
ONE_SIDE = 0.5
"""A set logged for one side is half a set of the muscle: left and right together make one."""

_MILLIONTH = 1e6
_SLOT = ("athlete", "date", "session", "position", "exercise")
_WEEK = ("athlete", "exercise", "week_end")
_SUMS = (
    "sets",
    "sets_high",
    "tonnage_kg",
    "reps",
    "rir_sum",
    "rir_sets",
    "reps_1_5",
    "reps_6_12",
    "reps_13_up",
    "left_sets",
    "right_sets",
)


def count_weeks(sets: pl.DataFrame, catalogue: Catalogue, as_of: date) -> pl.DataFrame:
    """schema.MUSCLE_WEEKS from schema.SETS: every muscle group in every ISO week of each athlete's log.

    Weeks between an athlete's first and last set up to `as_of` without work hold zeros.  Tonnage and reps are
    of all prime-mover sets but warm-ups (drop segments and easy sets included, suspect sets left out); loads
    of a pair count twice.  `days` are days with a hard set as prime mover.  Exercises that the catalogue does
    not know are left out: ``uncounted`` lists them.
    """
    marked = mark_sets(sets, as_of)
    if marked.is_empty():
        return MUSCLE_WEEKS.empty()
    by_exercise = _by_exercise(marked)
    by_muscle = _by_muscle(by_exercise, catalogue.shares())
    full = _every_week(marked, catalogue).join(
        by_muscle, on=["athlete", "muscle", "week_end"], how="left", maintain_order="left"
    )
    return conform(_finish(full), MUSCLE_WEEKS)


def weeks_known(weeks: pl.DataFrame, sets: pl.DataFrame, catalogue: Catalogue, day: date) -> pl.DataFrame:
    """``count_weeks`` as of an earlier `day`, out of `weeks`, counted later from the same sets.

    A week that had not ended by then is counted again; whole weeks are as they were.
    """
    if day.isoweekday() != 7:
        return count_weeks(sets, catalogue, day)
    trained = sets.filter((pl.col("date") <= day) & (pl.col("role") != "warm_up"))
    last = trained.group_by("athlete").agg(last=pl.col("date").max().dt.truncate("1w").dt.offset_by("6d"))
    return (
        weeks.filter(pl.col("week_end") <= day)
        .join(last, on="athlete", how="inner", maintain_order="left")
        .filter(pl.col("week_end") <= pl.col("last"))
        .drop("last")
    )


def uncounted(sets: pl.DataFrame, catalogue: Catalogue, as_of: date) -> pl.DataFrame:
    """Exercises without muscle shares: one row per athlete and exercise, with sets left out and last date."""
    known = catalogue.shares().select("exercise").unique()
    left_out = sets.filter((pl.col("date") <= as_of) & (pl.col("role") != "warm_up")).join(
        known, on="exercise", how="anti"
    )
    return (
        left_out.group_by("athlete", "exercise")
        .agg(sets=pl.len().cast(pl.Int32), last_date=pl.col("date").max())
        .sort("athlete", "exercise")
    )


def mark_sets(sets: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """All but warm-ups up to `as_of`, with `week_end`, `weight` (0.5 for one side), `hard` and `segment`.

    `hard` sets count; a `segment` is what follows the head of a drop or rest-pause chain and counts only in
    the high reading.  A segment whose head is missing (set aside, or never logged) stands in for it.
    """
    used = sets.filter(pl.col("date") <= as_of).sort(
        "athlete", "date", "session", "position", "set_number", "source_row", nulls_last=True
    )
    is_segment = pl.col("role").is_in(["drop", "rest_pause"])
    before = pl.all_horizontal(pl.col(name).eq_missing(pl.col(name).shift()) for name in _SLOT)
    follows = before & (pl.col("role").shift() != "warm_up")
    chain = pl.col("chain").is_not_null() & (pl.col("role") != "warm_up")
    first = pl.col("set_number").min().over(*_SLOT, "chain")
    # Only rows of chains need the window; they are few.
    chained = used.with_row_index("row").filter(chain).select("row", later=pl.col("set_number") > first)
    effort = pl.col("rir").is_null() | (pl.col("rir") <= EASIEST_RIR)
    done = pl.col("reps").is_null() | (pl.col("reps") > 0)
    continues = is_segment & pl.coalesce("later", "follows")
    return (
        used.with_columns(follows=follows.fill_null(False))
        .with_row_index("row")
        .join(chained, on="row", how="left", maintain_order="left")
        .with_columns(segment=continues & effort & done, continues=continues)
        .filter(pl.col("role") != "warm_up")
        .with_columns(
            hard=(pl.col("role").is_in(HARD_ROLES) | (is_segment & ~pl.col("continues"))) & effort & done,
            weight=pl.when(pl.col("side").is_null()).then(1.0).otherwise(ONE_SIDE),
            week_end=pl.col("date").dt.truncate("1w").dt.offset_by("6d"),
        )
        .drop("row", "follows", "later", "continues")
    )


def _by_exercise(marked: pl.DataFrame) -> pl.DataFrame:
    """Sums per athlete, exercise and week; weekdays with a hard set as bits."""
    hard, weight = pl.col("hard"), pl.col("weight")
    trusted = ~pl.col("suspect")
    reps = pl.when(trusted).then(pl.col("reps")).fill_null(0)
    counted = pl.when(hard & trusted & (pl.col("reps") > 0)).then(weight).otherwise(0.0)
    logged = hard & pl.col("rir").is_not_null()
    prepared = marked.select(
        *_WEEK,
        sets=pl.when(hard).then(weight).otherwise(0.0),
        sets_high=pl.when(hard | pl.col("segment")).then(weight).otherwise(0.0),
        tonnage_kg=_exact(pl.col("load_kg").fill_null(0.0) * pl.col("implements").fill_null(1) * reps),
        reps=reps * weight,
        rir_sum=_exact(pl.when(logged).then(pl.col("rir") * weight).otherwise(0.0)),
        rir_sets=pl.when(logged).then(weight).otherwise(0.0),
        reps_1_5=pl.when(pl.col("reps") <= 5).then(counted).otherwise(0.0),
        reps_6_12=pl.when(pl.col("reps").is_between(6, 12)).then(counted).otherwise(0.0),
        reps_13_up=pl.when(pl.col("reps") >= 13).then(counted).otherwise(0.0),
        left_sets=(hard & (pl.col("side") == "left")).fill_null(False).cast(pl.Float64),
        right_sets=(hard & (pl.col("side") == "right")).fill_null(False).cast(pl.Float64),
        days=pl.when(hard)
        .then(pl.lit(2).pow(pl.col("date").dt.weekday().cast(pl.Int32)))
        .otherwise(0)
        .cast(pl.Int32),
    )
    return prepared.group_by(_WEEK).agg(pl.col(*_SUMS).sum(), pl.col("days").bitwise_or())


def _exact(value: pl.Expr) -> pl.Expr:
    """Millionths as whole numbers: a parallel sum promises no order, and only whole numbers do not mind."""
    return (value * _MILLIONTH).round().cast(pl.Int64)


def _by_muscle(by_exercise: pl.DataFrame, shares: pl.DataFrame) -> pl.DataFrame:
    """Exercise sums spread over the muscle groups that each exercise trains."""
    direct = pl.col("direct")
    spread = by_exercise.join(shares, on="exercise", how="inner")
    prime = {name: pl.when(direct).then(pl.col(name)).otherwise(0) for name in (*_SUMS[2:], "days")}
    return (
        spread.select(
            "athlete",
            "muscle",
            "week_end",
            direct_sets=_exact(pl.when(direct).then(pl.col("sets") * pl.col("share")).otherwise(0.0)),
            fractional_sets=_exact(pl.col("sets") * pl.col("share")),
            total_sets=pl.col("sets"),
            fractional_high=pl.col("sets_high"),
            **prime,
        )
        .group_by("athlete", "muscle", "week_end")
        .agg(pl.exclude("days").sum(), pl.col("days").bitwise_or())
    )


def _every_week(marked: pl.DataFrame, catalogue: Catalogue) -> pl.DataFrame:
    """Every athlete, muscle group and week from the first to the last logged one."""
    span = marked.group_by("athlete").agg(first=pl.col("week_end").min(), week_end=pl.col("week_end").max())
    weeks = (
        span.sort("athlete")
        .select("athlete", week_end=pl.date_ranges("first", "week_end", interval="1w"))
        .explode("week_end")
    )
    muscles = pl.DataFrame({"muscle": sorted(catalogue.muscles)})
    return weeks.join(muscles, how="cross")


def _finish(full: pl.DataFrame) -> pl.DataFrame:
    """Zeros where nothing was done, shares, means and the readings."""
    filled = full.with_columns(pl.exclude("athlete", "muscle", "week_end").fill_null(0)).with_columns(
        pl.col("direct_sets", "fractional_sets", "tonnage_kg", "rir_sum") / _MILLIONTH
    )
    known = pl.sum_horizontal("reps_1_5", "reps_6_12", "reps_13_up")
    return filled.with_columns(
        week=pl.col("week_end").dt.strftime("%G-W%V"),
        fractional_low=pl.col("direct_sets"),
        days=pl.col("days").bitwise_count_ones(),
        reps=pl.col("reps").round(),
        mean_rir=pl.when(pl.col("rir_sets") > 0).then(pl.col("rir_sum") / pl.col("rir_sets")),
        share_reps_1_5=pl.when(known > 0).then(pl.col("reps_1_5") / known),
        share_reps_6_12=pl.when(known > 0).then(pl.col("reps_6_12") / known),
        share_reps_13_up=pl.when(known > 0).then(pl.col("reps_13_up") / known),
    )
