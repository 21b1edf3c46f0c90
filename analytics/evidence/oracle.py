"""Oracle: what the same filter would say if it saw the true strength of every trained day.

It knows noise, load-repetition curve and effort exactly; the better one also knows what the athlete's lifts
share on a day.  The distance to it is what better reading of a log could still buy; its own distance to
certainty is what no method can.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import polars as pl

from analytics.simulate.draws import VISITS_PER_WEEK
from analytics.simulate.pool import KINDS
from analytics.simulate.roster import draw_batch
from analytics.simulate.world import World
from analytics.trend.model import Model

_SURE = 1e-4
LIFT_DAY = ["athlete", "exercise", "date"]


def true_sessions(sessions: pl.DataFrame, days: pl.DataFrame, knows_days: bool) -> pl.DataFrame:
    """The sessions table with the truth of each day in place of its estimate.

    `days` has one row per athlete, exercise and date: `able`, `shared`, `own_sd` (``simulate_yardstick``).
    """
    able = pl.col("able") - pl.col("shared") if knows_days else pl.col("able")
    return (
        sessions.join(days, on=LIFT_DAY)
        .with_columns(
            e1rm_kg=able.exp(),
            log_noise="own_sd",
            log_se="own_sd",
            curve_exposure=0.0,
            rir_share=1.0,
            top_load_kg=pl.lit(1.0),
            top_reps=pl.lit(8, pl.Int32),
            top_rir=pl.lit(1.0),
        )
        .select(sessions.columns)
        .cast(sessions.schema)
        .sort(LIFT_DAY)
    )


def oracle_model(day_sd: float, knows_days: bool) -> Model:
    """Constants of the filter when everything but strength is known."""
    return replace(
        Model(),
        day_sd=_SURE if knows_days else day_sd,
        own_sd=_SURE,
        noise_prior_sessions=1e6,
        personal_curve_sd=_SURE,
        departure_sd_logged=_SURE,
        departure_sd_unlogged=_SURE,
        level_var_per_week=1e-8,
        wide_chance=_SURE,
    )


def default_days(world: World, athletes: int, weeks: int, seed: int) -> pl.DataFrame:
    """True days of ``simulate_roster`` with the same arguments; what another gym adds is taken off."""
    parts = [
        _days_of(world, range(start, min(start + 100, athletes)), weeks, seed)
        for start in range(0, athletes, 100)
    ]
    return pl.concat(parts).sort(LIFT_DAY)


def _days_of(world: World, members: range, weeks: int, seed: int) -> pl.DataFrame:
    batch = draw_batch(world, members, weeks, seed)
    stock, draws, plan, visits = batch.stock, batch.draws, batch.plan, batch.visits
    a, slot, visit = np.nonzero(visits.trained)
    at = (a, slot, visit)
    day, exercise = visits.day[at], visits.exercise[at]
    kind = stock.kind[exercise]
    foreign = np.where(kind >= KINDS.index("machine"), 1.0, 0.15) * (kind != KINDS.index("bodyweight"))
    away = plan.travel[a, visit // VISITS_PER_WEEK]
    gym = away * foreign * world.travel_offset_sd * draws.z_lift[a, slot, 2]
    scale = plan.noise_scale[a]
    bad = draws.u_day[a, day, 1] < world.bad_day_share
    return pl.DataFrame(
        {
            "athlete": pl.Series(batch.ids)[a],
            "exercise": pl.Series(stock.exercise)[exercise],
            "date": pl.Series(batch.days()[day]).cast(pl.Date),
            "able": (visits.capacity[at] - gym).astype(float),
            "shared": (scale * world.day_sd * draws.z_day[a, day] - bad * world.bad_day_loss).astype(float),
            "own_sd": (scale * world.lift_sd).astype(float),
        }
    )
