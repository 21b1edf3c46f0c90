"""Yardstick: a world made from a description alone, that nothing is ever fitted to, and what was true in it.

Trained lifters over 16 to 52 weeks: double progression, rounding, deloads, layoffs, swaps, repetitions in
reserve logged by half of the athletes with error, bad days shared by all lifts, personal load-repetition
curves.  Four lifts in ten stall at some time, one in ten regresses; slow and fast progress are both common.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import polars as pl

from analytics import schema
from analytics.simulate.unlike_course import regime_of
from analytics.simulate.world import LAST_DAY, Simulated
from analytics.simulate.yardstick_days import FLAT, SLOTS, Course, make_course, make_days

KINDS = np.array(["progressing", "stalled", "regressing"])


def simulate_yardstick(athletes: int, weeks: int, seed: int) -> tuple[Simulated, pl.DataFrame]:
    """A roster whose athletes began 16 to `weeks` weeks before the last day, and the truth of its days.

    The second table has one row per athlete, exercise and date: `able` (log of what could be lifted once that
    day), `shared` (the part of it shared by all lifts of the athlete) and `own_sd` (spread of the rest).
    """
    rng = np.random.default_rng([seed, 4021])
    course = make_course(rng, athletes, weeks)
    sets, days = make_days(rng, course)
    first = LAST_DAY - timedelta(days=7 * weeks - 1)
    simulated = Simulated(
        sets=_set_table(_named(pl.DataFrame(sets), course, first)),
        checkins=schema.CHECKINS.empty(),
        calendar=schema.CALENDAR.empty(),
        truth_lifts=_truth(course, first),
        truth_muscles=pl.DataFrame(),
        athletes=pl.DataFrame({"athlete": [_athlete(a) for a in range(athletes)]}),
    )
    true_days = _named(pl.DataFrame(days), course, first).select(
        "athlete", "exercise", "date", "able", "shared", "own_sd"
    )
    return simulated, true_days.sort("athlete", "exercise", "date")


def _athlete(number: int) -> str:
    return f"y{number:04d}"


def _named(frame: pl.DataFrame, course: Course, first: date) -> pl.DataFrame:
    """Athlete, exercise, family and date of rows with `lift` and `day`."""
    lift = frame["lift"].to_numpy().astype(int)
    after = frame["day"].to_numpy() // 7 >= course.swap[lift]
    names = np.array([f"lift_{slot}{end}" for slot in range(SLOTS) for end in ("", "_b")])
    families = np.array([f"family_{slot}" for slot in range(SLOTS)])
    return frame.with_columns(
        athlete=pl.Series([_athlete(a) for a in lift // SLOTS], dtype=pl.String),
        exercise=pl.Series(names[2 * (lift % SLOTS) + after]),
        family=pl.Series(families[lift % SLOTS]),
        slot=pl.Series(lift % SLOTS),
        date=pl.lit(first) + pl.duration(days=pl.col("day").cast(pl.Int64)),
    )


def _set_table(frame: pl.DataFrame) -> pl.DataFrame:
    table = frame.select(
        "athlete",
        "date",
        "exercise",
        "family",
        session=1,
        position=pl.col("slot") + 1,
        set_number=pl.col("number").cast(pl.Int32),
        exercise_as_logged="exercise",
        role=pl.lit("working"),
        role_source=pl.lit("logged"),
        chain=None,
        superset=None,
        side=None,
        load_kg="load",
        added_kg=None,
        implements=1,
        reps=pl.col("reps").cast(pl.Int32),
        seconds=None,
        rir=pl.col("rir").fill_nan(None),
        rest_s=None,
        suspect=False,
        note=None,
        source_file=pl.format("{}.csv", "athlete"),
    ).sort("athlete", "date", "position", "set_number")
    return schema.conform(
        table.with_columns(source_row=pl.int_range(1, pl.len() + 1).over("athlete")), schema.SETS
    )


def _truth(course: Course, first: date) -> pl.DataFrame:
    """One row per athlete, exercise and week, from the first week of the exercise to its last."""
    lift, week = np.nonzero(course.begun)
    kind = regime_of(course.slope, FLAT)
    changed = np.concatenate([np.ones((len(kind), 1), bool), np.diff(kind, axis=1) != 0], axis=1)
    since = np.maximum.accumulate(np.where(changed, np.arange(kind.shape[1]), 0), axis=1)[lift, week]
    swapped = week >= course.swap[lift]
    frame = pl.DataFrame(
        {
            "lift": lift,
            "day": 7 * week,
            "strength_kg": np.exp(course.end[lift, week] + np.where(swapped, course.step_up[lift], 0.0)),
            "slope_pct_per_week": 100 * course.slope[lift, week],
            "regime": KINDS[kind[lift, week]],
            "since": 7 * since,
        }
    )
    return (
        _named(frame, course, first)
        .select(
            "athlete",
            "exercise",
            "strength_kg",
            "slope_pct_per_week",
            "regime",
            week_end=pl.col("date") + pl.duration(days=6),
            regime_since=pl.lit(first) + pl.duration(days="since"),
        )
        .sort("athlete", "exercise", "week_end")
    )
