"""Cast: the twelve athletes of the demo, what each is there to show, and how each writes a log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import polars as pl

from analytics.simulate.pool import pool
from analytics.simulate.roster import simulate_members
from analytics.simulate.style import Style
from analytics.simulate.world import LAST_DAY, Simulated, World

_STEADY = World(
    lifts=(9, 12),
    stall_share=0.0,
    regress_share=0.0,
    slope_pct_per_week=(0.25, 0.5),
    layoffs_per_year=0.0,
    travel_per_year=0.0,
    swap_per_lift_year=0.0,
    cut_share=0.0,
    neglected_share=0.0,
    non_response_share=0.0,
    warm_ups_logged_share=1.0,
    sides_logged_share=0.0,
    checkins_kept_share=1.0,
    girths_kept_share=1.0,
    deload_share=1.0,
    pounds_share=0.0,
)
# A careful trainee: what happens to this one shows in the log.
_CLEAR = replace(
    _STEADY,
    day_sd=0.012,
    lift_sd=0.016,
    bad_day_share=0.02,
    noise_spread=0.1,
    rir_forgotten_share=0.05,
    rir_bias=0.3,
    rir_sd=0.35,
    pump_share=0.0,
    missed_session_share=0.03,
)
_ATTEMPTS, _WEEKS_TO_SHOW = 150, 20


@dataclass(frozen=True, kw_only=True)
class Part:
    """One athlete of the demo: what it shows, in which world, the test that it does, the log's style."""

    id: str
    shows: str
    world: World
    style: Style
    fits: Callable[[Simulated], bool]
    kind: str = "build"


def play(part: Part, weeks: int, seed: int) -> Simulated:
    """One athlete that shows what the part is for: the first of some seeds that fits, else the last tried."""
    world = replace(
        part.world,
        rir_logging_share=0.0 if part.style.effort == "none" else 1.0,
        pounds_share=1.0 if part.style.unit == "lb" else 0.0,
        rest_logged_share=1.0 if part.style.rest else 0.0,
        sides_logged_share=1.0 if part.style.layout == "rows" else 0.0,
    )
    for attempt in range(_ATTEMPTS if weeks >= _WEEKS_TO_SHOW else 10):
        simulated = simulate_members(world, range(1), weeks, seed + attempt)
        if _trained_to_the_end(simulated) and part.fits(simulated):
            break
    return simulated


def _trained_to_the_end(simulated: Simulated) -> bool:
    return (LAST_DAY - simulated.sets["date"].to_list()[-1]).days < 7


def _at_the_end(simulated: Simulated, regime: str, weeks: tuple[int, int]) -> pl.DataFrame:
    """Lifts that are in `regime` at the end, since a number of weeks, and were trained to the end."""
    truth = simulated.truth_lifts
    last = truth["week_end"].max()
    now = truth.filter(pl.col("week_end") == last, pl.col("regime") == regime)
    age = (pl.lit(last) - pl.col("regime_since")).dt.total_days() / 7
    return now.filter(age >= weeks[0], age <= weeks[1])


def _stalls(simulated: Simulated) -> bool:
    found = _at_the_end(simulated, "stalled", (13, 18))
    everything = _at_the_end(simulated, "stalled", (0, 99))
    if not 1 <= everything.height <= 2 or not _twice_a_week(simulated, found):
        return False
    slopes = [_seen_slopes(simulated, *lift) for lift in found.select("exercise", "regime_since").iter_rows()]
    return any(before > 0.6 and abs(after) < 0.08 for before, after in slopes)


def _regresses(simulated: Simulated) -> bool:
    found = _at_the_end(simulated, "regressing", (8, 13))
    alone = found.height == 1 and _at_the_end(simulated, "regressing", (0, 99)).height == 1
    return alone and _twice_a_week(simulated, found)


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


def _underdoses(simulated: Simulated) -> bool:
    name = simulated.athletes["neglected_muscle"][0]
    muscle = simulated.truth_muscles.filter(pl.col("muscle") == name)
    return bool((muscle["underdosed"] & muscle["lagging"]).any()) and name in (
        "calves",
        "side_delts",
        "hamstrings",
    )


def _does_not_respond(simulated: Simulated) -> bool:
    name = simulated.athletes["non_responding_muscle"][0]
    muscle = simulated.truth_muscles.filter(
        pl.col("muscle") == name, pl.col("lagging"), ~pl.col("underdosed")
    )
    clear = name in ("chest", "quads", "hamstrings", "biceps", "triceps")
    lifts = pool()
    mine = [e for e, prime in zip(lifts.exercise, lifts.prime, strict=True) if prime[0] == name]
    several = simulated.sets.filter(pl.col("exercise").is_in(mine))["exercise"].n_unique() >= 2
    return clear and several and muscle.height == 1 and muscle["weekly_sets"][0] >= 8


def _lays_off(simulated: Simulated) -> bool:
    last = simulated.truth_lifts["week_end"].max()
    off = simulated.calendar.filter(pl.col("kind") == "layoff")
    long = off.filter((pl.col("to") - pl.col("from")).dt.total_days() >= 20)
    return off.height == 1 and long.height == 1 and (last - long["to"][0]).days > 49


def _travels_and_swaps(simulated: Simulated) -> bool:
    kinds = simulated.calendar["kind"].to_list()
    exercises = simulated.sets.group_by("family").agg(pl.col("exercise").n_unique())
    return "travel" in kinds and "deload" in kinds and bool((exercises["exercise"] > 1).any())


def _cuts(simulated: Simulated) -> bool:
    end = simulated.athletes["cut_to"][0]
    start = simulated.athletes["cut_from"][0]
    last = simulated.truth_lifts["week_end"].max()
    losing = _at_the_end(simulated, "regressing", (8, 99)).height
    return end is not None and end == last and (end - start).days >= 80 and 1 <= losing <= 5


def _deloads(simulated: Simulated) -> bool:
    return simulated.calendar.filter(pl.col("kind") == "deload").height >= 3


def _pulls(simulated: Simulated) -> bool:
    return bool((simulated.sets["family"] == "horizontal_pull").any())


def _anyone(simulated: Simulated) -> bool:
    return simulated.sets.height > 0


CAST = (
    Part(
        id="heron",
        shows="a cut towards the stage date: most lifts hold, some lose",
        world=replace(_CLEAR, cut_share=1.0, cut_weeks=(12, 16), cut_strength_pct_per_week=(0.0, 0.35)),
        style=Style(rest=True),
        fits=_cuts,
        kind="cut",
    ),
    Part(
        id="wren",
        shows="one lift that gained well and then stalled",
        world=replace(
            _CLEAR, stall_share=0.2, restart_share=0.0, slope_pct_per_week=(0.7, 0.9), slope_spread=0.15
        ),
        style=Style(
            language="de", delimiter=";", encoding="cp1252", line_end="\r\n", day="%d.%m.%Y", decimal=","
        ),
        fits=_stalls,
    ),
    Part(
        id="kestrel",
        shows="one lift that loses strength",
        world=replace(_CLEAR, regress_share=0.12, restart_share=0.0, regress_pct_per_week=(0.8, 1.0)),
        style=Style(layout="sets_at", day="%m/%d/%Y", unit="lb", roles="none"),
        fits=_regresses,
    ),
    Part(
        id="plover",
        shows="a muscle group left behind by too few sets",
        world=replace(_CLEAR, neglected_share=1.0, slope_pct_per_week=(0.8, 1.0)),
        style=Style(
            layout="numbered",
            language="es",
            delimiter="\t",
            day="%d/%m/%Y",
            decimal=",",
            effort="none",
            roles="none",
        ),
        fits=_underdoses,
    ),
    Part(
        id="curlew",
        shows="a muscle group that gets its sets and does not respond",
        world=replace(_CLEAR, non_response_share=1.0, slope_pct_per_week=(0.85, 1.0), slope_spread=0.15),
        style=Style(layout="blocks", day="%d %B %Y"),
        fits=_does_not_respond,
    ),
    Part(
        id="dunlin",
        shows="a layoff of more than two weeks, with loss and regain",
        world=replace(_STEADY, layoffs_per_year=4.0, layoff_weeks=(3, 4), stall_share=0.2),
        style=Style(
            language="fr",
            delimiter=";",
            encoding="utf-8-sig",
            day="%d/%m/%Y",
            decimal=",",
            effort="rpe",
            rest=True,
        ),
        fits=_lays_off,
    ),
    Part(
        id="siskin",
        shows="a beginner whose lifts nearly all progress",
        world=replace(_STEADY, slope_pct_per_week=(0.8, 1.0)),
        style=Style(layout="numbered", day="%m/%d/%y", unit="lb", effort="none", roles="none"),
        fits=_anyone,
    ),
    Part(
        id="merlin",
        shows="an exercise swapped within its family, and weeks in another gym",
        world=replace(_STEADY, swap_per_lift_year=0.5, travel_per_year=3.0),
        style=Style(
            layout="shorthand", language="de", delimiter=";", day="%d.%m.%y", decimal=",", roles="none"
        ),
        fits=_travels_and_swaps,
    ),
    Part(
        id="avocet",
        shows="a very advanced lifter: gains too slow to be sure of",
        world=replace(_STEADY, slope_pct_per_week=(0.05, 0.09)),
        style=Style(
            layout="blocks",
            language="it",
            delimiter=";",
            day="%d/%m/%Y",
            decimal=",",
            effort="none",
            roles="warm_ups",
        ),
        fits=_anyone,
    ),
    Part(
        id="linnet",
        shows="monthly exports that overlap by a week",
        world=replace(_STEADY, stall_share=0.3, regress_share=0.1),
        style=Style(delimiter="\t", encoding="utf-16", effort="rpe", day="%d/%m/%Y", monthly=True),
        fits=_anyone,
    ),
    Part(
        id="osprey",
        shows="pounds, supersets, and an exercise of the coach's own",
        world=replace(_STEADY, superset_share=0.5, stall_share=0.3),
        style=Style(delimiter="|", unit="lb", unit_column=True, effort="rpe", title="Training log - osprey"),
        fits=_pulls,
    ),
    Part(
        id="lapwing",
        shows="planned easy weeks, and the rows that must be set aside",
        world=replace(_STEADY, slope_pct_per_week=(0.3, 0.5), deload_every_weeks=(5.6, 1.0)),
        style=Style(day="%Y-%m-%dT17:40:00+01:00", roles="warm_ups"),
        fits=_deloads,
    ),
)
