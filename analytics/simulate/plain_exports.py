"""Plain exports: a row per set for athletes beyond the cast, written by whole columns."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from analytics.schema import KG_PER_LB
from analytics.simulate.world import Simulated

_COLUMNS = {
    "Date": "date",
    "Exercise": "exercise_as_logged",
    "Set": "set_number",
    "Weight": "weight",
    "Unit": "unit",
    "Reps": "reps",
    "RIR": "rir",
    "Set type": "role",
    "Rest (s)": "rest_s",
    "Side": "side",
    "Superset": "superset",
}


def write_plain(folder: Path, simulated: Simulated) -> list[tuple[str, str, float]]:
    """Write exports and check-ins; (athlete, unit, bodyweight in kg) of everyone written.

    Four habits in turn: roles told and semicolons, roles told, warm-ups told, nothing told.
    """
    pounds = pl.col("unit") == "lb"
    added = pl.col("added_kg") / pl.when(pounds).then(KG_PER_LB).otherwise(1.0)
    load = pl.col("load_kg") / pl.when(pounds).then(KG_PER_LB).otherwise(1.0)
    text = (
        pl.when(pl.col("added_kg").is_null())
        .then(_number(load))
        .when(added.round(2) == 0)
        .then(pl.lit("BW"))
        .when(added > 0)
        .then(pl.concat_str(pl.lit("BW+"), _number(added)))
        .otherwise(pl.concat_str(pl.lit("BW-"), _number(added.abs())))
    )
    table = (
        simulated.sets.join(simulated.athletes.select("athlete", "unit"), on="athlete", maintain_order="left")
        .with_columns(weight=text)
        .select("athlete", **{head: pl.col(column) for head, column in _COLUMNS.items()})
    )
    parts = table.partition_by("athlete", as_dict=True, include_key=False)
    weights = simulated.checkins.filter(pl.col("measure") == "bodyweight")
    checkins = weights.partition_by("athlete", as_dict=True, include_key=False)
    for k, athlete in enumerate(simulated.athletes["athlete"]):
        target = folder / "exports" / athlete
        target.mkdir(exist_ok=True)
        rows = parts.get((athlete,))
        if rows is not None:
            habit = k % 4
            if habit == 2:
                marked = pl.when(pl.col("Set type") == "warm_up").then(pl.lit("warm-up"))
                rows = rows.with_columns(marked.alias("Set type"))
            if habit == 3:
                rows = rows.drop("Set type")
            rows.write_csv(target / "log.csv", separator=";" if habit == 0 else ",")
        if (athlete,) in checkins:
            checkins[(athlete,)].select("date", pl.col("value").alias("bodyweight (kg)")).write_csv(
                folder / "checkins" / f"{athlete}.csv"
            )
    return list(simulated.athletes.select("athlete", "unit", "bodyweight_kg").iter_rows())


def _number(value: pl.Expr) -> pl.Expr:
    return value.round(2).cast(pl.String).str.strip_suffix(".0")
