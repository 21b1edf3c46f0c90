"""Check-ins: bodyweight and girths of invented athletes, the girths following the muscles beneath them."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics import schema
from analytics.simulate.draws import Draws
from analytics.simulate.latent import Latent
from analytics.simulate.plan import Plan
from analytics.simulate.pool import Pool
from analytics.simulate.world import World

# girth: usual size in cm, share of the change of bodyweight that it follows, muscles beneath it
GIRTHS: dict[str, tuple[float, float, tuple[str, ...]]] = {
    "waist": (83.0, 1.0, ()),
    "upper_arm": (38.0, 0.4, ("biceps", "triceps")),
    "thigh": (60.0, 0.4, ("quads", "hamstrings")),
    "calf": (38.5, 0.3, ("calves",)),
}
_SIDES = ("left", "right")
_GIRTH_PER_STRENGTH = 0.2
"""Log girth gained per log strength gained (invented)."""


def make_checkins(
    weight: np.ndarray, draws: Draws, plan: Plan, latent: Latent, world: World, pool: Pool
) -> pl.DataFrame:
    """``schema.CHECKINS`` without athlete ids and dates: `member` and `week` (indices) in their place."""
    keeps = (draws.u_trait[:, 22] < world.checkins_kept_share)[:, None] & (draws.u_week[:, :, 5] < 0.85)
    member, week = np.nonzero(keeps)
    parts = [_part(member, week, weight[member, week], "bodyweight", None)]
    measures = (draws.u_trait[:, 23] < world.girths_kept_share)[:, None]
    member, week = np.nonzero(keeps & measures & (np.arange(weight.shape[1]) % 2 == 0))
    tape = draws.z_tape
    column = 0
    for girth, (usual_cm, follows, muscles) in GIRTHS.items():
        growth = _GIRTH_PER_STRENGTH * np.cumsum(_gain(latent, plan, pool, muscles), axis=1)
        log_size = (
            0.4 * np.log(weight[:, :1] / 82.0)
            + growth
            + follows * np.log(weight / weight[:, :1])
            + 0.05 * draws.z_trait[:, 5 + column // 2][:, None]
        )
        for side in _SIDES if muscles else (None,):
            uneven = 0.01 * draws.z_trait[:, 9 + column][:, None] if side == "right" else 0.0
            cm = usual_cm * np.exp(log_size + uneven + world.tape_sd * tape[:, :, column])
            parts.append(_part(member, week, cm[member, week], girth, side))
            column += 1
    return pl.concat(parts)


def _gain(latent: Latent, plan: Plan, pool: Pool, muscles: tuple[str, ...]) -> np.ndarray:
    """Mean weekly gain of log strength of the lifts that train one of `muscles` (athletes x weeks)."""
    trains = np.array([bool(set(prime) & set(muscles)) for prime in pool.prime])
    these = trains[plan.exercise] & plan.active
    gain = (latent.slope * these[:, :, None]).sum(axis=1) / np.maximum(these.sum(axis=1), 1)[:, None]
    return np.where(plan.off, 0.0, gain)


def _part(
    member: np.ndarray, week: np.ndarray, value: np.ndarray, measure: str, side: str | None
) -> pl.DataFrame:
    return pl.DataFrame(
        {"member": member, "week": week, "value": np.round(value.astype(np.float64), 1)}
    ).with_columns(
        measure=pl.lit(measure),
        side=pl.lit(side, pl.String),
        unit=pl.lit("kg" if measure == "bodyweight" else "cm"),
    )


def finished(table: pl.DataFrame, ids: list[str], sundays: np.ndarray) -> pl.DataFrame:
    """``schema.CHECKINS`` of a table of ``make_checkins``."""
    named = table.with_columns(
        athlete=pl.Series(ids)[table["member"]], date=pl.Series(sundays).cast(pl.Date)[table["week"]]
    )
    return schema.conform(named, schema.CHECKINS)
