"""Roles: warm-up, working, back-off, drop or rest-pause for every set, told by the log or inferred."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl

from analytics.intake.role_rules import Sequences, best_strength, judge_lighter, pauses, warm_ups

_HABIT_LIMIT, _HABIT_SHRINK = 3.0, 1.5
_USUAL_SPAN = 5
"""Earlier days that weigh in what is usual for an athlete and exercise."""
_CODES = {"warm_up": 0, "working": 1, "back_off": 2, "drop": 3, "rest_pause": 4}


def assign_roles(sets: pl.DataFrame) -> pl.DataFrame:
    """The same rows, every one with `role` and `role_source` (logged, inferred); drop chains get a `chain`.

    Needs the columns of ``schema.SETS``, rows in training order; `role` is null where the log tells none.
    What is inferred depends on the sets of that exercise on that day and, through the athlete's habit, on
    earlier days; never on later ones.  `chain` counts from 1 within athlete, date, position and side; the
    head and its drops share it.  The cuts follow habits of the trade (common practice, no source): warm-ups
    are light and come first; a pyramid rises by small steps; a drop cuts a fifth to a third and aims at the
    same repetitions; its head is a working set.
    """
    if sets.is_empty():
        return sets
    work = _in_sequences(sets)
    days = _days(sets, work)
    arrays = _arrays(sets, work, days)
    warm = warm_ups(arrays)
    found = judge_lighter(arrays, warm)
    odds = found.odds + _habit(days, found.odds)[work["group"].to_numpy()]
    drop = found.lighter & found.turn & (odds > 0)
    pause = pauses(arrays, warm, found.turn)
    inferred = np.select([warm, drop, pause, found.lighter], [0, 3, 4, 2], default=1)
    told = work["told"].to_numpy()
    role = np.where(told >= 0, told, inferred)
    back = np.argsort(work["row"].to_numpy(), kind="stable")
    number = pl.Series(_chains(arrays, role == _CODES["drop"])[back])
    return sets.with_columns(
        role=pl.Series(list(_CODES), dtype=pl.String)[role[back]],
        role_source=pl.Series(["inferred", "logged"])[(told >= 0).astype(np.int64)[back]],
        chain=pl.coalesce("chain", pl.when(number > 0).then(number)).cast(pl.Int32),
    )


def _in_sequences(sets: pl.DataFrame) -> pl.DataFrame:
    """What inference needs, one exercise, day and side after the other; `told` is a code, -1 for nothing."""
    key = ["athlete", "date", "position", "exercise"]
    head = pl.col("chain").ne_missing(pl.col("chain").shift(1))
    told = (
        pl.when(pl.col("role").is_not_null())
        .then(pl.col("role").replace_strict(_CODES, default=-1, return_dtype=pl.Int8))
        .when(pl.col("chain").is_not_null())
        .then(pl.when(head).then(_CODES["working"]).otherwise(_CODES["drop"]))
        .otherwise(-1)
    )
    work = sets.select(
        told=told.cast(pl.Int8),
        group=pl.any_horizontal(pl.col(k).ne_missing(pl.col(k).shift(1)) for k in key)
        .cum_sum()
        .cast(pl.Int64)
        - 1,
        side=pl.when(pl.col("side") == "left").then(1).when(pl.col("side") == "right").then(2).otherwise(0),
        row=pl.int_range(pl.len(), dtype=pl.UInt32),
        log_load=pl.col("load_kg").fill_null(0.0).clip(0.1).log(),
        reps=pl.col("reps").fill_null(1).clip(1).cast(pl.Float64),
        rir=pl.col("rir").fill_null(float("nan")),
        rest_s=pl.col("rest_s").fill_null(float("nan")),
    )
    if not (work["side"] > 0).any():
        return work
    order = np.argsort((3 * work["group"] + work["side"]).to_numpy(), kind="stable")
    return work[order]


def _arrays(sets: pl.DataFrame, work: pl.DataFrame, days: Days) -> Sequences:
    group, side = work["group"].to_numpy(), work["side"].to_numpy()
    fresh = np.ones(len(group), bool)
    fresh[1:] = (group[1:] != group[:-1]) | (side[1:] != side[:-1])
    told = work["told"].to_numpy()
    columns = {name: work[name].to_numpy() for name in ("log_load", "reps", "rir", "rest_s")}
    best = best_strength(columns["log_load"], columns["reps"], columns["rir"])
    told_warm = told == _CODES["warm_up"]
    return Sequences(
        **columns,
        fresh=fresh,
        told_warm=told_warm,
        told_other=told > _CODES["warm_up"],
        usual=_usual(days, best)[group],
        marks=_so_far(sets["athlete"].rle_id().to_numpy(), told_warm) if told_warm.any() else told_warm,
    )


def _so_far(block: np.ndarray, flags: np.ndarray) -> np.ndarray:
    """Whether one of `flags` was set up to here within the block (numbered from 0, contiguous)."""
    starts = np.flatnonzero(np.diff(block, prepend=-1))
    count = np.cumsum(flags)
    return count > (count - flags)[starts][block]


@dataclass(frozen=True, kw_only=True)
class Days:
    """One entry per exercise of a day: its first row (`starts`), and a frame of `athlete` and `exercise`."""

    starts: np.ndarray
    who: pl.DataFrame


def _days(sets: pl.DataFrame, work: pl.DataFrame) -> Days:
    # Sorting by side moves rows only within their exercise and day, so first rows are those of `sets`.
    starts = np.flatnonzero(np.diff(work["group"].to_numpy(), prepend=-1))
    return Days(starts=starts, who=sets.select("athlete", "exercise")[starts])


def _usual(days: Days, best: np.ndarray) -> np.ndarray:
    """Mean best log strength of the last earlier days of the athlete and exercise; NaN on the first day."""
    earlier = (
        pl.col("best").shift(1).ewm_mean(span=_USUAL_SPAN, ignore_nulls=True).over("athlete", "exercise")
    )
    past = days.who.with_columns(best=np.maximum.reduceat(best, days.starts)).select(earlier)["best"]
    return past.fill_null(float("nan")).to_numpy()


def _habit(days: Days, odds: np.ndarray) -> np.ndarray:
    """Mean log odds of a drop on earlier days of the athlete and exercise, shrunk towards 0."""
    judged = ~np.isnan(odds)
    number = np.add.reduceat(judged.astype(np.int64), days.starts)
    clipped = np.where(judged, np.clip(odds, -_HABIT_LIMIT, _HABIT_LIMIT), 0.0)
    seen = number > 0
    past = (
        days.who.with_columns(odds=np.add.reduceat(clipped, days.starts) / np.maximum(number, 1))
        .filter(seen)
        .select(
            before=(pl.col("odds").cum_sum() - pl.col("odds")).over("athlete", "exercise"),
            days=pl.int_range(pl.len()).over("athlete", "exercise"),
        )
    )
    habit = np.zeros(len(days.starts))
    habit[seen] = past["before"].to_numpy() / (past["days"].to_numpy() + _HABIT_SHRINK)
    return habit


def _chains(sets: Sequences, drop: np.ndarray) -> np.ndarray:
    """Number of the drop chain within the sequence; 0 outside chains.  The set before a drop is its head."""
    leads = sets.after(drop) & ~sets.after(sets.fresh)
    leads[-1:] = False
    head = (~drop & leads) | (drop & sets.fresh)
    return np.where(head | drop, sets.so_far(head), 0)
