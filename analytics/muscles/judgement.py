"""Judgement: each muscle group's work and response, its state under three readings, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import polars as pl
from scipy.special import ndtr

from analytics.catalogue import Catalogue
from analytics.muscles.bodyweight import LOSING_PHASES
from analytics.muscles.dose import usual_doses
from analytics.muscles.girths import girth_muscles, girth_rates, weight_rates
from analytics.muscles.mixed import Array
from analytics.muscles.response import respond
from analytics.muscles.states import (
    FLOOR_SETS,
    Reading,
    expected_loss,
    judge_states,
    kept_limit,
)
from analytics.muscles.words import say_why
from analytics.roster import Roster
from analytics.schema import MUSCLES, Z80, conform

_KEY = ["athlete", "muscle"]
_BODYWEIGHT_DAYS = 42


@dataclass(frozen=True, kw_only=True)
class MuscleInputs:
    """What a judgement looks at, as known on `as_of`; all frames may hold many athletes.

    `weeks`: schema.MUSCLE_WEEKS; `lifts`: schema.LIFTS; `checkins`, `calendar`: as in schema; `uncounted`:
    exercises without muscle shares, from ``uncounted``.
    """

    weeks: pl.DataFrame
    lifts: pl.DataFrame
    checkins: pl.DataFrame
    calendar: pl.DataFrame
    roster: Roster
    catalogue: Catalogue
    as_of: date
    uncounted: pl.DataFrame = field(
        default_factory=lambda: pl.DataFrame(
            schema={"athlete": pl.String, "exercise": pl.String, "sets": pl.Int32, "last_date": pl.Date}
        )
    )


def judge_muscles(inputs: MuscleInputs) -> pl.DataFrame:
    """schema.MUSCLES: every muscle group of every athlete with at least one complete trained week."""
    doses = usual_doses(inputs.weeks, inputs.calendar, inputs.as_of)
    if doses.is_empty():
        return MUSCLES.empty()
    planned = doses.join(_aims(inputs.roster), on=_KEY, how="left").with_columns(
        judged=pl.col("aim_low").is_not_null() | (pl.col("direct_sets") > 0),
        need=pl.col("aim_low").fill_null(FLOOR_SETS),
    )
    shortfalls = planned.select(
        *_KEY,
        shortfall=pl.when(pl.col("judged") & (pl.col("need") > 0))
        .then((1 - pl.col("weekly_sets") / pl.col("need")).clip(0, 1))
        .otherwise(0.0),
    )
    girths = girth_rates(inputs.checkins, inputs.as_of).join(girth_muscles(inputs.catalogue), on="measure")
    table = (
        planned.join(respond(inputs.lifts, girths, inputs.catalogue.shares(), shortfalls), on=_KEY)
        .join(girths.group_by(_KEY).agg(pl.col("girth_pct_per_week").mean()), on=_KEY, how="left")
        .join(weight_rates(inputs.checkins, inputs.as_of, _BODYWEIGHT_DAYS), on="athlete", how="left")
        .join(_phases(inputs), on="athlete", how="left")
        .join(_left_out(inputs.uncounted), on="athlete", how="left")
        .with_columns(pl.col("left_out").fill_null(0))
        .sort(_KEY)
    )
    return conform(_with_states(table), MUSCLES)


def _with_states(table: pl.DataFrame) -> pl.DataFrame:
    losing = table["phase"].is_in(LOSING_PHASES).fill_null(False).to_numpy()
    weight = table["weight_pct_per_week"].cast(pl.Float64).fill_null(0.0).to_numpy()
    mean, sd = table["response_pct_per_week"].to_numpy(), table["response_sd"].to_numpy()
    limit = kept_limit(losing, weight, table["others_pct_per_week"].to_numpy())
    p_kept = ndtr((mean - limit) / sd)
    p_fall = ndtr((np.where(losing, limit, 0.0) - mean) / sd)
    states = {
        reading: judge_states(_reading(table, sets, earlier, p_kept, p_fall))
        for reading, sets, earlier in (
            ("state", "weekly_sets", "earlier_sets"),
            ("state_low", "weekly_sets_low", "earlier_low"),
            ("state_high", "weekly_sets_high", "earlier_high"),
        )
    }
    judged = table.with_columns(
        **{name: pl.Series(values) for name, values in states.items()},
        response_low=pl.Series(mean - Z80 * sd),
        response_high=pl.Series(mean + Z80 * sd),
        p_kept=pl.Series(p_kept),
        losing=pl.Series(losing),
        explained=pl.Series(expected_loss(losing, weight)),
    )
    return judged.with_columns(
        why=pl.Series([say_why(row) for row in judged.iter_rows(named=True)], dtype=pl.String)
    )


def _reading(table: pl.DataFrame, sets: str, earlier: str, p_kept: Array, p_fall: Array) -> Reading:
    def column(name: str) -> Array:
        return table[name].cast(pl.Float64).fill_null(float("nan")).to_numpy()

    return Reading(
        sets=column(sets),
        earlier=column(earlier),
        need=column("need"),
        aim_high=column("aim_high"),
        judged=table["judged"].to_numpy(),
        lifts=column("lifts"),
        rir_change=column("mean_rir") - column("earlier_rir"),
        p_kept=p_kept,
        p_fall=p_fall,
    )


def _aims(roster: Roster) -> pl.DataFrame:
    rows = [
        (athlete.id, muscle, float(low), float(high))
        for athlete in roster.athletes
        for muscle, (low, high) in athlete.weekly_sets.items()
    ]
    schema = {"athlete": pl.String, "muscle": pl.String, "aim_low": pl.Float64, "aim_high": pl.Float64}
    return pl.DataFrame(rows, schema=schema, orient="row")


def _phases(inputs: MuscleInputs) -> pl.DataFrame:
    phases: Mapping[str, str | None] = {
        athlete.id: athlete.phase_on(inputs.as_of) for athlete in inputs.roster.athletes
    }
    return pl.DataFrame(
        {"athlete": list(phases), "phase": list(phases.values())},
        schema={"athlete": pl.String, "phase": pl.String},
    )


def _left_out(uncounted: pl.DataFrame) -> pl.DataFrame:
    return uncounted.group_by("athlete").agg(left_out=pl.col("sets").sum())
