"""Latent: true log strength of every lift slot week by week, its slope and its regime."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analytics.simulate.draws import Draws
from analytics.simulate.plan import Plan
from analytics.simulate.pool import Pool
from analytics.simulate.world import World

REGIMES = ("regressing", "stalled", "progressing")
FLAT = 0.0005
"""Slopes smaller than this (0.05 % a week) are a stall."""


@dataclass(frozen=True, kw_only=True)
class Latent:
    """AxLxW: `slope` per week, `start` and `end` of the week in log kg, `regime` and `since` as indices."""

    slope: np.ndarray
    start: np.ndarray
    end: np.ndarray
    regime: np.ndarray
    since: np.ndarray
    loss: np.ndarray


def make_latent(draws: Draws, plan: Plan, world: World, pool: Pool) -> Latent:
    """Log strength of the first exercise of each slot; an exercise swapped in adds its own offset."""
    count, weeks = plan.off.shape
    slots = plan.exercise.shape[1]
    week = np.arange(weeks)[None, None, :]
    u = draws.u_lift
    slope = np.broadcast_to((plan.base_slope[:, None] * plan.slope_factor)[:, :, None], (count, slots, weeks))
    slope = slope * (1 - world.slowing_per_year * week / 52)
    slope = np.where(
        plan.slope_factor[:, :, None] > 0.2, np.maximum(slope, FLAT * 1.02), slope * (slope > FLAT)
    )

    stalls = u[:, :, 10] < world.stall_share
    regresses = (u[:, :, 10] >= world.stall_share) & (u[:, :, 10] < world.stall_share + world.regress_share)
    onset = 4 + np.floor(u[:, :, 11] * max(weeks - 6, 1))
    span = 6 - world.stall_weeks * np.log(np.maximum(1 - u[:, :, 12], 1e-6))
    span = np.where(u[:, :, 13] < world.restart_share, span, np.inf)
    within = (week >= onset[:, :, None]) & (week < (onset + span)[:, :, None])
    slope = np.where(within & stalls[:, :, None], 0.0, slope)
    down = world.regress_pct_per_week
    falling = -(down[0] + u[:, :, 14] * (down[1] - down[0])) / 100
    slope = np.where(within & regresses[:, :, None], falling[:, :, None], slope)

    in_cut = (np.arange(weeks)[None, :] >= plan.cut_start[:, None]) & (
        np.arange(weeks)[None, :] < plan.cut_end[:, None]
    )
    cost = world.cut_strength_pct_per_week
    toll = (cost[0] + u[:, :, 15] * (cost[1] - cost[0])) / 100
    slope = np.where(
        in_cut[:, None, :], 0.35 * np.maximum(slope, 0) + np.minimum(slope, 0) - toll[:, :, None], slope
    )
    slope = np.where(np.abs(slope) < FLAT, 0.0, slope)

    loss = _layoff_loss(plan.off, world)
    trained = ~plan.off[:, None, :]
    moved = slope * trained
    strength0 = (
        np.log(plan.bodyweight_kg)[:, None] + np.log(pool.ratio[plan.exercise]) + 0.18 * draws.z_lift[:, :, 1]
    )
    # slow gainers are the experienced ones, and stronger
    strength0 = strength0 + 0.12 * (np.log(0.0022) - np.log(plan.base_slope))[:, None]
    end = strength0[:, :, None] + np.cumsum(moved, axis=2)
    start = end - moved
    regime = np.where(slope >= FLAT, 2, np.where(slope <= -FLAT, 0, 1))
    return Latent(
        slope=slope,
        start=start,
        end=end - loss[:, None, :],
        regime=regime,
        since=_run_start(regime),
        loss=loss,
    )


def _layoff_loss(off: np.ndarray, world: World) -> np.ndarray:
    """Log strength lost to weeks off and not yet regained: little for two weeks, then steady."""
    loss = np.zeros(off.shape)
    held = np.zeros(off.shape[0])
    run = np.zeros(off.shape[0])
    for w in range(off.shape[1]):
        run = np.where(off[:, w], run + 1, 0)
        rate = np.where(run <= 2, 0.3, 1.0) * world.layoff_loss_pct_per_week / 100
        held = np.where(off[:, w], held + rate, held * (1 - world.layoff_regain_share))
        loss[:, w] = held
    return loss


def _run_start(regime: np.ndarray) -> np.ndarray:
    """Week index at which the present run of equal regime began."""
    changed = np.concatenate([np.ones_like(regime[:, :, :1], bool), np.diff(regime, axis=2) != 0], axis=2)
    week = np.broadcast_to(np.arange(regime.shape[2]), regime.shape)
    return np.maximum.accumulate(np.where(changed, week, 0), axis=2)
