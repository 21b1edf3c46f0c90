"""Dose: the usual weekly sets of each muscle group, and what came before, from the weekly counts."""

from __future__ import annotations

from datetime import date

import polars as pl
import polars.selectors as cs

RECENT_WEEKS, EARLIER_WEEKS = 4, 8
_OFF_KINDS = ("travel", "illness", "layoff", "deload", "competition")
_OFF_DAYS = 4
"""A week is off when at least this many of its days lie in such a calendar entry."""

_KEY = ["athlete", "muscle"]


def usual_doses(weeks: pl.DataFrame, calendar: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """One row per athlete and muscle group: sets a week over the last four usual weeks, and before.

    Usual weeks are complete, hold training of any group, and are not taken up by a deload, a layoff, illness,
    travel or a competition in the calendar; where an athlete has none, any complete trained week serves.
    Columns: `weekly_sets`, `weekly_sets_low`, `weekly_sets_high`, `direct_sets` (means of the last four),
    `earlier_sets`, `earlier_low`, `earlier_high` (means of the eight before, null without any), `mean_rir`,
    `earlier_rir`, and `reps_per_day` as prime mover.
    """
    complete = weeks.filter(pl.col("week_end") <= as_of)
    trained = (
        complete.group_by("athlete", "week_end")
        .agg(total=pl.col("total_sets").sum())
        .filter(pl.col("total") > 0)
        .join(_off_weeks(calendar, as_of), on=["athlete", "week_end"], how="left")
        .with_columns(off=pl.col("off").fill_null(False))
    )
    usual = (
        trained.filter(~pl.col("off") | pl.col("off").all().over("athlete"))
        .sort("athlete", "week_end", descending=[False, True])
        .with_columns(back=pl.int_range(pl.len()).over("athlete"))
        .filter(pl.col("back") < RECENT_WEEKS + EARLIER_WEEKS)
    )
    recent = pl.col("back") < RECENT_WEEKS
    rir = pl.col("mean_rir").is_not_null()
    return (
        complete.join(usual.select("athlete", "week_end", "back"), on=["athlete", "week_end"])
        .group_by(_KEY)
        .agg(
            weekly_sets=pl.col("fractional_sets").filter(recent).mean(),
            weekly_sets_low=pl.col("fractional_low").filter(recent).mean(),
            weekly_sets_high=pl.col("fractional_high").filter(recent).mean(),
            direct_sets=pl.col("direct_sets").mean(),
            earlier_sets=pl.col("fractional_sets").filter(~recent).mean(),
            earlier_low=pl.col("fractional_low").filter(~recent).mean(),
            earlier_high=pl.col("fractional_high").filter(~recent).mean(),
            mean_rir=_weighted("mean_rir", recent & rir),
            earlier_rir=_weighted("mean_rir", ~recent & rir),
            reps_per_day=_ratio(pl.col("reps").filter(recent).sum(), pl.col("days").filter(recent).sum()),
        )
        .with_columns(cs.float().round(9))
        .sort(_KEY)
    )


def _ratio(above: pl.Expr, below: pl.Expr) -> pl.Expr:
    return pl.when(below > 0).then(above / below)


def _weighted(column: str, keep: pl.Expr) -> pl.Expr:
    """Mean over weeks, weighted by direct sets; null without any."""
    sets = pl.col("direct_sets").filter(keep)
    return _ratio((pl.col(column).filter(keep) * sets).sum(), sets.sum())


def _off_weeks(calendar: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """Weeks with at least four days in entries that take training away: `athlete, week_end, off`."""
    entries = calendar.filter(pl.col("kind").is_in(_OFF_KINDS) & (pl.col("from") <= as_of))
    days = (
        entries.with_columns(pl.min_horizontal("to", pl.lit(as_of)).alias("to"))
        .filter(pl.col("to") >= pl.col("from"))
        .select("athlete", day=pl.date_ranges("from", "to"))
        .explode("day")
        .unique()
    )
    return (
        days.group_by("athlete", week_end=pl.col("day").dt.truncate("1w").dt.offset_by("6d"))
        .agg(days=pl.len())
        .filter(pl.col("days") >= _OFF_DAYS)
        .select("athlete", "week_end", off=pl.lit(True))
    )
