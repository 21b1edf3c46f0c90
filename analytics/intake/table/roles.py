"""Roles: warm-up, working, back-off, drop or rest-pause for every set, told by the log or inferred."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics.intake.lookup import Texts, filled
from analytics.intake.table.inference import Log, infer_roles
from analytics.schema import ROLES

_CODES = {role: code for code, role in enumerate(ROLES)}


def assign_roles(sets: pl.DataFrame) -> pl.DataFrame:
    """The same rows, every one with `role` and `role_source` (logged, inferred); drop chains get a `chain`.

    Needs the columns of ``schema.SETS``, rows in training order; `role` is null where the log tells none.
    What is inferred depends on the sets of that exercise on that day and, through the athlete's habit, on
    earlier days; never on later ones.  `chain` counts from 1 within athlete, date, position and side; the
    head and its drops share it.  The cuts follow habits of the trade (common practice, no source): warm-ups
    are light and come first; a pyramid rises by small steps; a drop cuts a fifth to a third and aims at the
    same repetitions; its head is a working set.
    """
    if sets.is_empty():
        return sets
    key = ["athlete", "date", "position", "exercise"]
    opens = sets.select(pl.any_horizontal(pl.col(k).ne_missing(pl.col(k).shift(1)) for k in key)).to_series()
    opens[0] = True
    days = sets.select("athlete", "exercise").filter(opens)
    codes = pl.col("role").replace_strict(_CODES, default=-1, return_dtype=pl.Int8)
    log = log_of(
        sets,
        sets.select(codes.fill_null(-1)).to_series().to_numpy(),
        opens.to_numpy(),
        days.select(pl.struct("athlete", "exercise").rank("dense") - 1).to_series().to_numpy(),
        days.get_column("athlete").rle_id().to_numpy(),
    )
    texts, chain = role_columns(log, sets.get_column("chain"))
    return sets.with_columns(chain.alias("chain"), **{name: column.cells() for name, column in texts.items()})


def log_of(
    sets: pl.DataFrame, told: np.ndarray, opens: np.ndarray, who: np.ndarray, athlete: np.ndarray
) -> Log:
    """`sets` (in training order) as arrays, with the codes of their logged roles, -1 for none, in `told`.

    `opens`: first set of an exercise of a day; `who`: number of the athlete and exercise of each of those
    days, and `athlete`, numbered from 0 in the order of the rows.
    """
    chain = sets.get_column("chain")
    if chain.null_count() < len(chain):
        head = pl.select(chain.ne_missing(chain.shift(1))).to_series().to_numpy()
        in_chain = np.where(head, _CODES["working"], _CODES["drop"])
        told = np.where((told < 0) & chain.is_not_null().to_numpy(), in_chain, told)
    side = sets.get_column("side")
    sides = None
    if side.null_count() < len(side):
        sides = sets.select(
            pl.when(pl.col("side") == "left").then(1).when(pl.col("side") == "right").then(2).otherwise(0)
        ).to_series()
    return Log(
        opens=opens,
        who=who,
        athlete=athlete,
        told=told,
        side=None if sides is None else sides.to_numpy(),
        load_kg=filled(sets.get_column("load_kg"), 0.0),
        reps=filled(sets.get_column("reps"), 1),
        rir=filled(sets.get_column("rir"), np.nan),
        rest_s=filled(sets.get_column("rest_s"), np.nan),
    )


def role_columns(log: Log, logged: pl.Series) -> tuple[dict[str, Texts], pl.Series]:
    """(`role` and `role_source`, `chain`) of every set; `logged`: numbers of chains that the log tells."""
    code, number = infer_roles(log)
    chain = pl.Series("chain", number, dtype=pl.Int32)
    chain = chain.set(chain == 0, None)
    if logged.null_count() < len(logged):
        chain = logged.cast(pl.Int32).zip_with(logged.is_not_null(), chain)
    told = pl.Series((log.told >= 0).astype(np.uint8))
    return {"role": Texts(pl.Series(code), ROLES), "role_source": Texts(told, ("inferred", "logged"))}, chain
