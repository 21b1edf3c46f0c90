"""Athletes: a batch of invented athletes as drawn, their bodyweight, and the table of their traits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl

from analytics.simulate.draws import Draws
from analytics.simulate.latent import Latent
from analytics.simulate.plan import Plan
from analytics.simulate.pool import Pool
from analytics.simulate.visits import Visits
from analytics.simulate.world import World


@dataclass(frozen=True, kw_only=True)
class Batch:
    """What is drawn for a batch of athletes of one world, before it becomes tables; `ids` in their order."""

    world: World
    stock: Pool
    ids: list[str]
    draws: Draws
    plan: Plan
    latent: Latent
    visits: Visits

    def days(self) -> np.ndarray:
        """Every day of the simulated weeks."""
        return self.world.days(self.plan.off.shape[1])


def draw_bodyweight(draws: Draws, plan: Plan, world: World, weeks: int) -> np.ndarray:
    """Bodyweight in kg per athlete and week: slow gain, loss in a cut, and scatter."""
    week = np.arange(weeks)[None, :]
    cut = (week >= plan.cut_start[:, None]) & (week < plan.cut_end[:, None])
    low, high = world.cut_bodyweight_pct_per_week
    loss = (low + draws.u_trait[:, 20] * (high - low)) / 100
    rate = np.where(cut, -loss[:, None], 0.0008)
    return plan.bodyweight_kg[:, None] * np.exp(np.cumsum(rate, axis=1) + 0.004 * draws.z_week[:, :, 1])


def athlete_table(batch: Batch, weight: np.ndarray) -> pl.DataFrame:
    """One row per athlete: ``Simulated.athletes``; `weight` is bodyweight in kg per athlete and week."""
    plan = batch.plan
    weeks = plan.off.shape[1]
    monday = np.append(batch.days()[::7], np.datetime64(batch.world.last_day) + 1)
    in_cut = plan.cut_start < weeks
    return (
        pl.DataFrame(
            {
                "athlete": batch.ids,
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
