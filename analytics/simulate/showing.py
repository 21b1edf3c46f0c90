"""Showing: whether one invented athlete shows what its part in the demo is there to show."""

from __future__ import annotations

from datetime import date

import numpy as np
import polars as pl

from analytics.simulate.pool import pool
from analytics.simulate.world import Simulated


def stalls(simulated: Simulated) -> bool:
    """One or two lifts stall at the end; one of them gained clearly before and shows it in the log."""
    found = _at_the_end(simulated, "stalled", (13, 18))
    everything = _at_the_end(simulated, "stalled", (0, 99))
    if not 1 <= everything.height <= 2 or not _twice_a_week(simulated, found):
        return False
    slopes = [_seen_slopes(simulated, *lift) for lift in found.select("exercise", "regime_since").iter_rows()]
    return any(before > 0.6 and abs(after) < 0.08 for before, after in slopes)


def regresses(simulated: Simulated) -> bool:
    """Exactly one lift loses strength at the end, since 8 to 13 weeks."""
    found = _at_the_end(simulated, "regressing", (8, 13))
    alone = found.height == 1 and _at_the_end(simulated, "regressing", (0, 99)).height == 1
    return alone and _twice_a_week(simulated, found)


def underdoses(simulated: Simulated) -> bool:
    """The neglected muscle lags on too few sets."""
    name = simulated.athletes["neglected_muscle"][0]
    muscle = simulated.truth_muscles.filter(pl.col("muscle") == name)
    return bool((muscle["underdosed"] & muscle["lagging"]).any()) and name in (
        "calves",
        "side_delts",
        "hamstrings",
    )


def does_not_respond(simulated: Simulated) -> bool:
    """A well trained muscle with several exercises lags in spite of its sets."""
    name = simulated.athletes["non_responding_muscle"][0]
    muscle = simulated.truth_muscles.filter(
        pl.col("muscle") == name, pl.col("lagging"), ~pl.col("underdosed")
    )
    clear = name in ("chest", "quads", "hamstrings", "biceps", "triceps")
    lifts = pool()
    mine = [e for e, prime in zip(lifts.exercise, lifts.prime, strict=True) if prime[0] == name]
    several = simulated.sets.filter(pl.col("exercise").is_in(mine))["exercise"].n_unique() >= 2
    return clear and several and muscle.height == 1 and muscle["weekly_sets"][0] >= 8


def lays_off(simulated: Simulated) -> bool:
    """One layoff of about three weeks or more, over for more than seven weeks."""
    last = simulated.truth_lifts["week_end"].max()
    off = simulated.calendar.filter(pl.col("kind") == "layoff")
    long = off.filter((pl.col("to") - pl.col("from")).dt.total_days() >= 20)
    return off.height == 1 and long.height == 1 and (last - long["to"][0]).days > 49


def travels_and_swaps(simulated: Simulated) -> bool:
    """Weeks in another gym, an easy week, and an exercise swapped within its family."""
    kinds = simulated.calendar["kind"].to_list()
    exercises = simulated.sets.group_by("family").agg(pl.col("exercise").n_unique())
    return "travel" in kinds and "deload" in kinds and bool((exercises["exercise"] > 1).any())


def cuts(simulated: Simulated) -> bool:
    """A cut that ends with the simulation, in which one to five lifts lose."""
    end = simulated.athletes["cut_to"][0]
    start = simulated.athletes["cut_from"][0]
    last = simulated.truth_lifts["week_end"].max()
    losing = _at_the_end(simulated, "regressing", (8, 99)).height
    return end is not None and end == last and (end - start).days >= 80 and 1 <= losing <= 5


def deloads(simulated: Simulated) -> bool:
    """Three planned easy weeks or more."""
    return simulated.calendar.filter(pl.col("kind") == "deload").height >= 3


def pulls(simulated: Simulated) -> bool:
    """A rowing exercise is in the log."""
    return bool((simulated.sets["family"] == "horizontal_pull").any())


def anyone(simulated: Simulated) -> bool:
    """Any athlete with a log."""
    return simulated.sets.height > 0


def _at_the_end(simulated: Simulated, regime: str, weeks: tuple[int, int]) -> pl.DataFrame:
    """Lifts that are in `regime` at the end, since a number of weeks, and were trained to the end."""
    truth = simulated.truth_lifts
    last = truth["week_end"].max()
    now = truth.filter(pl.col("week_end") == last, pl.col("regime") == regime)
    age = (pl.lit(last) - pl.col("regime_since")).dt.total_days() / 7
    return now.filter(age >= weeks[0], age <= weeks[1])


def _twice_a_week(simulated: Simulated, lifts: pl.DataFrame) -> bool:
    """Whether one of these lifts has ten repetitions or fewer and is trained twice a week."""
    own = simulated.sets.filter(pl.col("role") == "working").join(lifts, on="exercise", how="semi")
    habit = own.group_by("exercise").agg(pl.col("date").n_unique(), pl.col("reps").median())
    weeks = simulated.truth_lifts["week_end"].n_unique()
    return habit.filter(pl.col("date") > 1.4 * weeks, pl.col("reps") <= 10).height > 0


def _seen_slopes(simulated: Simulated, exercise: str, turn: date) -> tuple[float, float]:
    """What can be seen in the log: % a week before and after `turn`, least squares on session bests."""
    hard = simulated.sets.filter(pl.col("exercise") == exercise, pl.col("role") == "working")
    spent = 1 + (pl.col("reps") + pl.col("rir").fill_null(2)) / 30
    best = hard.group_by("date").agg(seen=100 * (pl.col("load_kg") * spent).log().max()).sort("date")
    slopes = []
    for part in (best.filter(pl.col("date") < turn), best.filter(pl.col("date") >= turn)):
        weeks = (part["date"] - turn).dt.total_days().to_numpy() / 7
        slopes.append(float(np.polyfit(weeks, part["seen"].to_numpy(), 1)[0]))
    return slopes[0], slopes[1]
