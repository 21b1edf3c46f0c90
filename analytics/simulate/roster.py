"""Roster: many invented athletes over many weeks, as the tables of the package, and the truth."""

from __future__ import annotations

from dataclasses import fields
from datetime import timedelta

import numpy as np
import polars as pl

from analytics import schema
from analytics.errors import BadCall
from analytics.simulate.checkins import finished, make_checkins
from analytics.simulate.draws import VISITS_PER_WEEK, Draws, draw
from analytics.simulate.latent import REGIMES, Latent, make_latent
from analytics.simulate.plan import Plan, make_plan
from analytics.simulate.pool import Pool, pool
from analytics.simulate.sets import FlatSets, make_sets
from analytics.simulate.visits import Visits, make_visits, swap_offset
from analytics.simulate.world import Simulated, World

_BATCH = 100
FEWEST_WEEKS = 8
UNDERDOSED_BELOW = 6.0
"""Fractional sets a week below which a muscle counts as underdosed in the truth."""
LAGGING_BY = 0.10
"""% a week below the athlete's other groups from which a muscle counts as lagging in the truth."""


def simulate_roster(world: World, athletes: int, weeks: int, seed: int) -> Simulated:
    """`athletes` invented athletes over `weeks` weeks that end on ``world.last_day``.

    The same arguments give the same tables; athlete k is the same one in a roster of any size.  Raises
    BadCall for fewer than one athlete or eight weeks.
    """
    if athletes < 1 or weeks < FEWEST_WEEKS:
        raise BadCall(
            f"a roster needs at least 1 athlete and {FEWEST_WEEKS} weeks, not {athletes} and {weeks}"
        )
    parts = [
        simulate_members(world, range(start, min(start + _BATCH, athletes)), weeks, seed)
        for start in range(0, athletes, _BATCH)
    ]
    return Simulated(
        **{f.name: pl.concat([getattr(part, f.name) for part in parts]) for f in fields(Simulated)}
    )


def athlete_id(index: int) -> str:
    """Id of athlete number `index` (from 0); ids sort like their numbers."""
    return f"a{index:05d}"


def simulate_members(world: World, members: range, weeks: int, seed: int) -> Simulated:
    """Some athletes of a roster, by number; memory grows with how many are asked for at once."""
    stock = pool()
    draws = draw(seed, members, weeks, len(stock.exercise))
    plan = make_plan(draws, world, stock)
    latent = make_latent(draws, plan, world, stock)
    visits = make_visits(draws, plan, latent, world, stock)
    weight = _bodyweight(draws, plan, world, weeks)
    week = np.arange(VISITS_PER_WEEK * weeks) // VISITS_PER_WEEK
    on_visit = np.round(weight[:, None, week], 1) * np.ones((1, plan.exercise.shape[1], 1))
    flat = make_sets(draws, plan, visits, on_visit, world, stock)
    ids = [athlete_id(k) for k in members]
    sets = _sets(flat, draws, plan, visits, world, stock, ids, weeks)
    return Simulated(
        sets=sets,
        checkins=finished(
            make_checkins(weight, draws, plan, latent, world, stock), ids, _days(world, weeks)[6::7]
        ),
        calendar=_calendar(plan, draws, world, ids),
        truth_lifts=_truth_lifts(sets, draws, plan, latent, world, stock, ids),
        truth_muscles=_truth_muscles(sets, plan, latent, world, stock, ids),
        athletes=_athletes(plan, weight, world, stock, ids),
    )


def _bodyweight(draws: Draws, plan: Plan, world: World, weeks: int) -> np.ndarray:
    """Bodyweight in kg per athlete and week: slow gain, loss in a cut, and scatter."""
    week = np.arange(weeks)[None, :]
    cut = (week >= plan.cut_start[:, None]) & (week < plan.cut_end[:, None])
    low, high = world.cut_bodyweight_pct_per_week
    loss = (low + draws.u_trait[:, 20] * (high - low)) / 100
    rate = np.where(cut, -loss[:, None], 0.0008)
    return plan.bodyweight_kg[:, None] * np.exp(np.cumsum(rate, axis=1) + 0.004 * draws.z_week[:, :, 1])


def _days(world: World, weeks: int) -> np.ndarray:
    first = world.last_day - timedelta(days=7 * weeks - 1)
    return np.datetime64(first) + np.arange(7 * weeks)


def _sets(
    flat: FlatSets,
    draws: Draws,
    plan: Plan,
    visits: Visits,
    world: World,
    stock: Pool,
    ids: list[str],
    weeks: int,
) -> pl.DataFrame:
    at = (flat.athlete, flat.slot, flat.visit)
    exercise = visits.exercise[at]
    split_sides = stock.one_sided[exercise] & plan.logs_sides[flat.athlete]
    copies = np.where(split_sides, 2, 1)
    row = np.repeat(np.arange(len(exercise)), copies)
    side = np.zeros(len(row), np.int8)
    starts = np.cumsum(copies) - copies
    side[starts[split_sides]] = 1
    side[starts[split_sides] + 1] = 2
    weaker = (side == 1) & (draws.u_set[(*at, flat.place)][row, 1] < 0.35)
    reps = np.maximum(flat.reps[row] - weaker, 1)
    pair = plan.superset[flat.athlete, flat.slot][row]
    first_of_pair = flat.slot[row] - (pair == 2)
    two_hands = (stock.kind == 1) & ~stock.one_sided
    names = pl.Series(stock.exercise, dtype=pl.String)
    frame = pl.DataFrame(
        {
            "athlete": pl.Series(ids)[flat.athlete[row]],
            "date": pl.Series(_days(world, weeks)[visits.day[at]][row]).cast(pl.Date),
            "session": pl.Series(np.ones(len(row), np.int32)),
            "slot": flat.slot[row],
            "place": flat.place[row],
            "exercise": names[exercise[row]],
            "exercise_as_logged": pl.Series(stock.name)[exercise[row]],
            "family": pl.Series(stock.families)[stock.family[exercise[row]]],
            "role": pl.Series(schema.ROLES)[flat.role[row]],
            "role_source": pl.Series(["logged"])[np.zeros(len(row), int)],
            "chained": flat.chained[row],
            "superset": np.where(pair > 0, first_of_pair + 1, 0),
            "side": side,
            "load_kg": np.round(flat.load_kg[row], 9),
            "added_kg": np.round(flat.added_kg[row], 9),
            "implements": np.where(two_hands[exercise[row]], 2, 0),
            "reps": reps,
            "rir": flat.rir[row],
            "rest_s": flat.rest_s[row],
        }
    )
    frame = (
        frame.sort("athlete", "date", "slot", "place", "side")
        .with_columns(position=pl.col("slot").rank("dense").over("athlete", "date"))
        .with_columns(
            set_number=pl.int_range(1, pl.len() + 1).over("athlete", "date", "slot"),
            rest_s=pl.when(pl.col("place") == pl.col("place").first().over("athlete", "date", "slot"))
            .then(None)
            .otherwise(pl.col("rest_s").fill_nan(None)),
            chain=pl.when("chained").then(1),
            superset=pl.when(pl.col("superset") > 0).then(pl.concat_str(pl.lit("S"), "superset")),
            side=pl.col("side").replace_strict({0: None, 1: "left", 2: "right"}, return_dtype=pl.String),
            added_kg=pl.col("added_kg").fill_nan(None),
            implements=pl.when(pl.col("implements") > 0).then("implements"),
            rir=pl.col("rir").fill_nan(None),
            seconds=pl.lit(None),
            suspect=pl.lit(False),
            note=pl.lit(None),
            source_file=pl.lit("simulated"),
            source_row=pl.int_range(1, pl.len() + 1).over("athlete"),
        )
    )
    return schema.conform(frame, schema.SETS)


def _calendar(plan: Plan, draws: Draws, world: World, ids: list[str]) -> pl.DataFrame:
    weeks = plan.off.shape[1]
    days = _days(world, weeks)
    rows = []
    for kind, mark in (("layoff", plan.off), ("deload", plan.deload), ("travel", plan.travel)):
        padded = np.pad(mark.astype(np.int8), ((0, 0), (1, 1)))
        change = np.diff(padded, axis=1)
        starts, ends = np.nonzero(change == 1), np.nonzero(change == -1)
        kept = draws.u_week[starts[0], starts[1], 6] < world.calendar_kept_share
        rows.append(
            pl.DataFrame(
                {
                    "athlete": pl.Series(ids)[starts[0][kept]],
                    "from": pl.Series(days[7 * starts[1][kept]]).cast(pl.Date),
                    "to": pl.Series(days[7 * ends[1][kept] - 1]).cast(pl.Date),
                }
            ).with_columns(kind=pl.lit(kind), note=pl.lit(None))
        )
    return schema.conform(pl.concat(rows), schema.CALENDAR)


def _truth_lifts(
    sets: pl.DataFrame, draws: Draws, plan: Plan, latent: Latent, world: World, stock: Pool, ids: list[str]
) -> pl.DataFrame:
    """Truth of every exercise from its first to its last trained week."""
    weeks = latent.slope.shape[2]
    ends = _days(world, weeks)[6::7]
    offset = swap_offset(draws, plan, stock)
    parts = []
    for exercise, extra, trained in (
        (plan.exercise, np.zeros_like(offset), np.arange(weeks) < plan.swap_week[:, :, None]),
        (plan.exercise_after, offset, np.arange(weeks) >= plan.swap_week[:, :, None]),
    ):
        a, s, w = np.nonzero(trained & plan.active[:, :, None])
        parts.append(
            pl.DataFrame(
                {
                    "athlete": pl.Series(ids)[a],
                    "exercise": pl.Series(stock.exercise)[exercise[a, s]],
                    "week_end": pl.Series(ends[w]).cast(pl.Date),
                    "strength_kg": np.exp(latent.end[a, s, w] + extra[a, s]).astype(np.float64),
                    "slope_pct_per_week": 100 * latent.slope[a, s, w].astype(np.float64),
                    "regime": pl.Series(REGIMES)[latent.regime[a, s, w]],
                    "regime_since": pl.Series(ends[latent.since[a, s, w]] - 6).cast(pl.Date),
                }
            )
        )
    seen = sets.group_by("athlete", "exercise").agg(first=pl.col("date").min(), last=pl.col("date").max())
    return (
        pl.concat(parts)
        .join(seen, on=["athlete", "exercise"])
        .filter(
            pl.col("week_end") >= pl.col("first"), pl.col("week_end") < pl.col("last") + pl.duration(days=7)
        )
        .drop("first", "last")
        .sort("athlete", "exercise", "week_end")
    )


def _truth_muscles(
    sets: pl.DataFrame, plan: Plan, latent: Latent, world: World, stock: Pool, ids: list[str]
) -> pl.DataFrame:
    weeks = latent.slope.shape[2]
    recent = 100 * latent.slope[:, :, -8:].mean(axis=2)
    now = np.where(plan.swap_week < weeks, plan.exercise_after, plan.exercise)
    a, s = np.nonzero(plan.active)
    lifts = pl.DataFrame(
        {
            "athlete": pl.Series(ids)[a],
            "exercise": pl.Series(stock.exercise)[now[a, s]],
            "slope": recent[a, s].astype(np.float64),
        }
    )
    works = pl.DataFrame(
        [
            {"exercise": e, "muscle": muscle, "share": share}
            for e, prime, assisting in zip(stock.exercise, stock.prime, stock.assisting, strict=True)
            for share, muscles in ((1.0, prime), (0.5, assisting))
            for muscle in muscles
        ]
    )
    response = (
        lifts.join(works.filter(pl.col("share") == 1), on="exercise")
        .group_by("athlete", "muscle")
        .agg(response_pct_per_week=pl.col("slope").mean())
    )
    hard = sets.filter(
        pl.col("role").is_in(["working", "back_off"]), pl.col("side").is_null() | (pl.col("side") == "left")
    )
    week = hard.with_columns(week=pl.col("date").dt.truncate("1w"))
    trained = (
        week.select("athlete", "week")
        .unique()
        .with_columns(pl.col("week").rank("dense", descending=True).over("athlete").alias("back"))
    )
    dose = (
        week.join(trained.filter(pl.col("back") <= 4), on=["athlete", "week"])
        .join(works, on="exercise")
        .group_by("athlete", "muscle")
        .agg(weekly_sets=pl.col("share").sum() / 4)
    )
    fate = pl.DataFrame(
        {"athlete": ids, "neglected": plan.neglected, "stubborn": plan.non_responding},
        schema={"athlete": pl.String, "neglected": pl.String, "stubborn": pl.String},
    )
    others = response.join(response, on="athlete", suffix="_other").filter(
        pl.col("muscle") != pl.col("muscle_other")
    )
    others = others.group_by("athlete", "muscle").agg(others=pl.col("response_pct_per_week_other").median())
    return (
        response.join(dose, on=["athlete", "muscle"], how="left")
        .join(others, on=["athlete", "muscle"], how="left")
        .join(fate, on="athlete")
        .with_columns(
            pl.col("weekly_sets").fill_null(0.0),
            margin_pct_per_week=pl.col("others") - pl.col("response_pct_per_week"),
        )
        .select(
            "athlete",
            "muscle",
            "response_pct_per_week",
            "weekly_sets",
            underdosed=pl.col("weekly_sets") < UNDERDOSED_BELOW,
            not_responding=pl.col("stubborn").eq_missing(pl.col("muscle")),
            lagging=pl.col("margin_pct_per_week").fill_null(0) > LAGGING_BY,
            margin_pct_per_week=pl.col("margin_pct_per_week"),
        )
        .sort("athlete", "muscle")
    )


def _athletes(plan: Plan, weight: np.ndarray, world: World, stock: Pool, ids: list[str]) -> pl.DataFrame:
    weeks = plan.off.shape[1]
    monday = np.append(_days(world, weeks)[::7], np.datetime64(world.last_day) + 1)
    in_cut = plan.cut_start < weeks
    return (
        pl.DataFrame(
            {
                "athlete": ids,
                "unit": np.where(plan.pounds, "lb", "kg"),
                "bodyweight_kg": np.round(weight[:, -1], 1).astype(np.float64),
                "base_slope_pct_per_week": 100 * plan.base_slope.astype(np.float64),
                "noise_scale": plan.noise_scale.astype(np.float64),
                "curve": plan.curve.astype(np.float64),
                "logs_rir": plan.logs_rir,
                "logs_warm_ups": plan.logs_warm_ups,
                "logs_rest": plan.logs_rest,
                "cut_from": pl.Series(monday[np.minimum(plan.cut_start, weeks)]).cast(pl.Date),
                "cut_to": pl.Series(monday[np.minimum(plan.cut_end, weeks)] - 1).cast(pl.Date),
                "in_cut": in_cut,
                "neglected_muscle": pl.Series(plan.neglected, dtype=pl.String),
                "non_responding_muscle": pl.Series(plan.non_responding, dtype=pl.String),
            }
        )
        .with_columns(cut_from=pl.when("in_cut").then("cut_from"), cut_to=pl.when("in_cut").then("cut_to"))
        .drop("in_cut")
    )
