"""Sessions: the table of one strength estimate per athlete, exercise and date."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics import schema
from analytics.strength.curve import MOST_REPS
from analytics.strength.formulas import FORMULAS
from analytics.strength.session import UNLOGGED_RIR, HardSets, estimate

_KEY = ["athlete", "exercise", "date"]
_ORDER = [*_KEY, "position", "set_number", "source_file", "source_row", "load_kg", "reps"]


def estimate_sessions(sets: pl.DataFrame, formula: str | None = None) -> pl.DataFrame:
    """One row per athlete, exercise and date with a set that can tell strength: table `sessions`.

    Used are working and back-off sets (the head of a drop chain is one) with a load and 1 to 30 repetitions
    to failure; never warm-ups, drops, rest-pause sets or suspect rows.  By default all of them count, through
    the load-repetition curve; with `formula` (a key of FORMULAS) the best set of the day by that formula
    counts. Effort that is not logged is taken as 2 repetitions in reserve, with a standard error of 1.5.

    Raises KeyError for an unknown formula.
    """
    hard = _hard_sets(sets)
    if formula is not None:
        hard = _best_by(hard, formula)
    if hard.is_empty():
        return schema.SESSIONS.empty()
    arrays = HardSets(
        session=hard["session_id"].to_numpy().astype(np.intp),
        load_kg=hard["load_kg"].to_numpy(),
        reps=hard["reps"].cast(pl.Float64).to_numpy(),
        rir=hard["rir"].cast(pl.Float64).fill_null(np.nan).to_numpy(),
        sets_before=hard["sets_before"].cast(pl.Float64).to_numpy(),
        after_drop=hard["after_drop"].to_numpy(),
        superset=hard["superset"].is_not_null().to_numpy(),
    )
    found = estimate(arrays)
    e1rm = np.exp(found.log_e1rm) if formula is None else hard["by_formula"].to_numpy()
    numbers = pl.col("set_numbers") if formula else pl.col("set_number").cast(pl.String)
    table = (
        hard.group_by("session_id")
        .agg(
            *(pl.col(c).first() for c in _KEY),
            pl.col("family").drop_nulls().first(),
            pl.len().alias("sets_used"),
            numbers.str.join(",").alias("set_numbers"),
        )
        .sort("session_id")
    )
    table = table.hstack(_top_sets(hard))
    table = table.with_columns(
        e1rm_kg=pl.Series(e1rm),
        e1rm_se_kg=pl.Series(e1rm * found.log_se),
        log_se=pl.Series(found.log_se),
        log_noise=pl.Series(found.log_noise),
        curve_exposure=pl.Series(found.curve_exposure),
        rir_share=pl.Series(np.clip(found.rir_share, 0, 1)),
    )
    return schema.conform(table, schema.SESSIONS)


def _hard_sets(sets: pl.DataFrame) -> pl.DataFrame:
    """Sets that can tell, sorted, with a session number and how tired each was done."""
    counted = (
        sets.filter(pl.col("role") != "warm_up")
        .sort(_ORDER, nulls_last=True)
        .with_columns(
            sets_before=pl.int_range(pl.len()).over([*_KEY, "side"]),
            after_drop=(pl.col("role") == "drop").cum_sum().over(_KEY) > 0,
        )
    )
    to_failure = pl.col("reps") + pl.col("rir").fill_null(UNLOGGED_RIR)
    return (
        counted.filter(
            pl.col("role").is_in(schema.HARD_ROLES),
            ~pl.col("suspect"),
            pl.col("load_kg") > 0,
            pl.col("reps") >= 1,
            to_failure <= MOST_REPS,
        )
        .with_columns(session_id=pl.struct(_KEY).rle_id())
        .with_columns(pl.col("session_id").cast(pl.Int64))
    )


def _top_sets(hard: pl.DataFrame) -> pl.DataFrame:
    """Load, reps, RIR and source of each session's heaviest set (of equal ones, the one with most reps)."""
    return (
        hard.sort("session_id", "load_kg", "reps", descending=[False, True, True], maintain_order=True)
        .unique("session_id", keep="first", maintain_order=True)
        .select(
            top_load_kg="load_kg",
            top_reps="reps",
            top_rir="rir",
            source_file="source_file",
            source_row="source_row",
        )
    )


def _best_by(hard: pl.DataFrame, formula: str) -> pl.DataFrame:
    """The best set of each session by one formula; sessions without a set in its range have no row."""
    reps = hard["reps"].cast(pl.Float64) + hard["rir"].cast(pl.Float64).fill_null(0.0)
    by_formula = FORMULAS[formula](hard["load_kg"].to_numpy(), reps.to_numpy())
    scored = hard.with_columns(
        by_formula=pl.Series(by_formula), set_numbers=pl.col("set_number").cast(pl.String)
    )
    return (
        scored.filter(pl.col("by_formula").is_not_nan())
        .sort("session_id", "by_formula", descending=[False, True], maintain_order=True)
        .unique("session_id", keep="first", maintain_order=True)
        .with_columns(session_id=pl.col("session_id").rle_id().cast(pl.Int64))
    )
