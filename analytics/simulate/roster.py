"""Roster: many invented athletes over many weeks, as the tables of the package, and the truth."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import polars as pl

from analytics import schema
from analytics.errors import BadCall
from analytics.simulate.athletes import Batch, athlete_table, draw_bodyweight
from analytics.simulate.checkins import finished, make_checkins
from analytics.simulate.draws import VISITS_PER_WEEK, draw
from analytics.simulate.latent import make_latent
from analytics.simulate.plan import make_plan
from analytics.simulate.pool import pool
from analytics.simulate.set_table import set_table
from analytics.simulate.sets import make_sets
from analytics.simulate.truth import truth_lifts, truth_muscles
from analytics.simulate.visits import make_visits
from analytics.simulate.world import Simulated, World

_BATCH = 100
FEWEST_WEEKS = 8


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


def draw_batch(world: World, members: range, weeks: int, seed: int) -> Batch:
    """Everything that is true of some athletes of a roster, by number, before anything is written down."""
    stock = pool()
    draws = draw(seed, members, weeks, len(stock.exercise))
    plan = make_plan(draws, world, stock)
    latent = make_latent(draws, plan, world, stock)
    visits = make_visits(draws, plan, latent, world, stock)
    return Batch(
        world=world,
        stock=stock,
        ids=[athlete_id(k) for k in members],
        draws=draws,
        plan=plan,
        latent=latent,
        visits=visits,
    )


def simulate_members(world: World, members: range, weeks: int, seed: int) -> Simulated:
    """Some athletes of a roster, by number; memory grows with how many are asked for at once."""
    batch = draw_batch(world, members, weeks, seed)
    stock, draws, plan, latent = batch.stock, batch.draws, batch.plan, batch.latent
    weight = draw_bodyweight(draws, plan, world, weeks)
    week = np.arange(VISITS_PER_WEEK * weeks) // VISITS_PER_WEEK
    on_visit = np.round(weight[:, None, week], 1) * np.ones((1, plan.exercise.shape[1], 1))
    flat = make_sets(draws, plan, batch.visits, on_visit, world, stock)
    sets = set_table(batch, flat)
    return Simulated(
        sets=sets,
        checkins=finished(
            make_checkins(weight, draws, plan, latent, world, stock), batch.ids, batch.days()[6::7]
        ),
        calendar=_calendar(batch),
        truth_lifts=truth_lifts(batch, sets),
        truth_muscles=truth_muscles(batch, sets),
        athletes=athlete_table(batch, weight),
    )


def _calendar(batch: Batch) -> pl.DataFrame:
    plan, days = batch.plan, batch.days()
    rows = []
    for kind, mark in (("layoff", plan.off), ("deload", plan.deload), ("travel", plan.travel)):
        padded = np.pad(mark.astype(np.int8), ((0, 0), (1, 1)))
        change = np.diff(padded, axis=1)
        starts, ends = np.nonzero(change == 1), np.nonzero(change == -1)
        kept = batch.draws.u_week[starts[0], starts[1], 6] < batch.world.calendar_kept_share
        rows.append(
            pl.DataFrame(
                {
                    "athlete": pl.Series(batch.ids)[starts[0][kept]],
                    "from": pl.Series(days[7 * starts[1][kept]]).cast(pl.Date),
                    "to": pl.Series(days[7 * ends[1][kept] - 1]).cast(pl.Date),
                }
            ).with_columns(kind=pl.lit(kind), note=pl.lit(None))
        )
    return schema.conform(pl.concat(rows), schema.CALENDAR)
