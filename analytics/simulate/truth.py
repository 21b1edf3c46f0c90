"""Truth: what is true of the lifts and the muscle groups of invented athletes, as tables."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics.simulate.athletes import Batch
from analytics.simulate.latent import REGIMES
from analytics.simulate.visits import swap_offset

UNDERDOSED_BELOW = 6.0
"""Fractional sets a week below which a muscle counts as underdosed in the truth."""
LAGGING_BY = 0.10
"""% a week below the athlete's other groups from which a muscle counts as lagging in the truth."""


def truth_lifts(batch: Batch, sets: pl.DataFrame) -> pl.DataFrame:
    """Truth of every exercise from its first to its last trained week: ``Simulated.truth_lifts``."""
    plan, latent, stock = batch.plan, batch.latent, batch.stock
    weeks = latent.slope.shape[2]
    ends = batch.days()[6::7]
    offset = swap_offset(batch.draws, plan, stock)
    parts = []
    for exercise, extra, trained in (
        (plan.exercise, np.zeros_like(offset), np.arange(weeks) < plan.swap_week[:, :, None]),
        (plan.exercise_after, offset, np.arange(weeks) >= plan.swap_week[:, :, None]),
    ):
        a, s, w = np.nonzero(trained & plan.active[:, :, None])
        parts.append(
            pl.DataFrame(
                {
                    "athlete": pl.Series(batch.ids)[a],
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


def truth_muscles(batch: Batch, sets: pl.DataFrame) -> pl.DataFrame:
    """Truth of every trained muscle group at the end: ``Simulated.truth_muscles``."""
    plan, latent, stock = batch.plan, batch.latent, batch.stock
    weeks = latent.slope.shape[2]
    recent = 100 * latent.slope[:, :, -8:].mean(axis=2)
    now = np.where(plan.swap_week < weeks, plan.exercise_after, plan.exercise)
    a, s = np.nonzero(plan.active)
    lifts = pl.DataFrame(
        {
            "athlete": pl.Series(batch.ids)[a],
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
        {"athlete": batch.ids, "neglected": plan.neglected, "stubborn": plan.non_responding},
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
