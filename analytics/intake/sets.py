"""Sets: typed rows of all files to the set table, with exercises matched and loads in kg."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import polars as pl

from analytics.catalogue import Catalogue
from analytics.intake.naming import split_name
from analytics.roster import Roster
from analytics.schema import KG_PER_LB

HIGHEST_LOAD_KG = 1000
_SIDE = pl.Enum(["left", "right"])
_ASSISTED = "assisted"


def match_exercises(rows: pl.DataFrame, catalogue: Catalogue) -> pl.DataFrame:
    """`rows` with `as_logged, exercise_id, family, share, one_sided, assisted`; marks in a name taken out of it.

    ``Leg curl (left)`` sets the side, ``Bench press (warm-up)`` the role, and ``A1. Row`` the superset.
    """
    names = rows.get_column("exercise").unique().drop_nulls().to_list()
    split = {name: split_name(name) for name in names}
    found = catalogue.match(sorted({marks.name for marks in split.values()}))
    known = {row["as_logged"]: (row["exercise"], row["family"]) for row in found.iter_rows(named=True)}
    table = []
    for name, marks in split.items():
        exercise, family = known[marks.name]
        entry = catalogue.exercises.get(exercise)
        table.append(
            (
                name,
                marks.name,
                exercise,
                family,
                marks.side,
                marks.role,
                marks.superset,
                entry.bodyweight_share if entry else 0.0,
                bool(entry and entry.one_sided),
                _ASSISTED in exercise.split("_"),
                entry is not None,
            )
        )
    schema = {
        "exercise": pl.String(),
        "as_logged": pl.String(),
        "exercise_id": pl.String(),
        "family": pl.String(),
        "name_side": _SIDE,
        "name_role": rows.schema["role"],
        "name_superset": pl.String(),
        "share": pl.Float64(),
        "one_sided": pl.Boolean(),
        "assisted": pl.Boolean(),
        "known": pl.Boolean(),
    }
    lookup = pl.DataFrame(table, schema=schema, orient="row")
    rows = rows.join(lookup, on="exercise", how="left", maintain_order="left")
    return rows.with_columns(
        pl.coalesce("side", "name_side").alias("side"),
        pl.coalesce("role", "name_role").alias("role"),
        pl.coalesce("superset", "name_superset").alias("superset"),
    ).with_columns(
        pl.when(pl.col("two_sided") & ~pl.col("one_sided").fill_null(False))
        .then(None)
        .otherwise("side")
        .alias("side")
    )


def with_bodyweight(rows: pl.DataFrame, checkins: pl.DataFrame, roster: Roster) -> pl.DataFrame:
    """`rows` with `bodyweight_kg` of the day: last check-in on or before it, else the roster's default."""
    weights = (
        checkins.filter(pl.col("measure") == "bodyweight")
        .select("athlete", "date", pl.col("value").alias("bodyweight_kg"))
        .sort("date")
    )
    defaults = {a.id: a.bodyweight_kg for a in roster.athletes}
    rows = rows.with_row_index("order").sort("date", maintain_order=True)
    rows = (
        rows.join_asof(weights, on="date", by="athlete", strategy="backward", check_sortedness=False)
        .sort("order")
        .drop("order")
    )
    default = pl.col("athlete").replace_strict(defaults, default=None, return_dtype=pl.Float64)
    return rows.with_columns(pl.coalesce("bodyweight_kg", default).alias("bodyweight_kg"))


def in_kg(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` with `load_kg` and `added_kg`.

    Where the catalogue moves a share of bodyweight (pull-up 1, push-up 0.64), a plain number is added weight,
    a negative one assistance, and on an assisted machine every number is assistance; an exercise outside
    the catalogue counts the whole bodyweight where BW is written.  load_kg = share x bodyweight + added_kg.
    """
    kg = pl.col("value") * pl.when(pl.col("unit") == "lb").then(KG_PER_LB).otherwise(1.0)
    own = pl.col("share").fill_null(0.0)
    moved = pl.col("bodyweight") | (own > 0)
    share = pl.when(own > 0).then(own).otherwise(1.0)
    written = pl.when(pl.col("assisted").fill_null(False) & (kg > 0)).then(-kg).otherwise(kg)
    added = pl.when(moved).then(written.fill_null(0.0))
    return rows.with_columns(moved.alias("moved"), added.alias("added_kg")).with_columns(
        pl.when("moved")
        .then(share * pl.col("bodyweight_kg") + pl.col("added_kg"))
        .otherwise(kg)
        .alias("load_kg")
    )


def unfit(rows: pl.DataFrame, as_of: date) -> list[tuple[pl.Expr, str, str, pl.Expr, str]]:
    """What keeps a typed row out: (rule, field, kind, reason, cure) in the order they are told."""
    kg = pl.col("load_kg").round(1).cast(pl.String)
    return [
        (
            pl.col("exercise").is_null(),
            "exercise",
            "exercise",
            pl.lit("is empty"),
            "Write which exercise it was",
        ),
        (
            pl.col("moved") & pl.col("bodyweight_kg").is_null(),
            "load",
            "load",
            pl.lit("needs the bodyweight of that day, and none is known"),
            "Add a check-in on or before that day, or bodyweight_kg in roster.toml",
        ),
        (pl.col("load_kg") < 0, "load", "load", pl.lit("is below zero"), "Write the load that was moved"),
        (
            pl.col("load_kg") > HIGHEST_LOAD_KG,
            "load",
            "load",
            pl.lit("is ") + kg + pl.lit(" kg, above 1000 kg"),
            "Write the load that was moved",
        ),
        (
            pl.col("moved") & (pl.col("added_kg") < -300),
            "load",
            "load",
            pl.lit("is more help than 300 kg"),
            "Write the load that was moved",
        ),
    ]


def ordered(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` with `session, position, set_number` and sorted by them.

    Sessions of a day are told apart by their name, else by a pause of more than two hours between logged
    times.  Position is the order of first appearance; a set's number is its logged one where there is one.
    """
    day = ["athlete", "date"]
    rows = rows.sort(
        "athlete",
        "date",
        "file",
        pl.col("minutes").fill_null(-1),
        "row",
        "part",
        "piece",
        maintain_order=True,
    )
    rows = rows.with_columns(pl.int_range(pl.len(), dtype=pl.Int32).alias("place"))
    gap = (pl.col("minutes") - pl.col("minutes").shift().over(day) > 120).fill_null(False)
    named = pl.col("session").fill_null("")
    first = pl.col("place").min().over([*day, "session"])
    by_name = first.rank("dense").over(day).cast(pl.Int32)
    has_name = (named != "").any().over(day)
    by_time = (gap.cast(pl.Int32).cum_sum().over(day) + 1).cast(pl.Int32)
    rows = rows.with_columns(pl.when(has_name).then(by_name).otherwise(by_time).alias("session_no"))
    lift = [*day, "session_no", "exercise_id"]
    rows = rows.with_columns(pl.col("place").min().over(lift).alias("start"))
    rows = rows.with_columns(
        pl.struct("session_no", "start").rank("dense").over(day).cast(pl.Int32).alias("position")
    )
    rows = rows.sort(
        "athlete",
        "date",
        "position",
        pl.col("set_no").fill_null(0) * pl.col("set_no").is_not_null().all().over(lift),
        "place",
    )
    return rows.with_columns(pl.int_range(1, pl.len() + 1, dtype=pl.Int32).over(lift).alias("set_number"))


def final_columns(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` under the names of the set table, `role` and `chain` still as logged."""
    return rows.select(
        "athlete",
        "date",
        pl.col("session_no").alias("session"),
        "position",
        "set_number",
        pl.col("exercise_id").alias("exercise"),
        pl.col("as_logged").alias("exercise_as_logged"),
        "family",
        pl.col("role").cast(pl.String),
        pl.when(pl.col("role").is_not_null()).then(pl.lit("logged")).alias("role_source"),
        "chain",
        "superset",
        pl.col("side").cast(pl.String),
        "load_kg",
        "added_kg",
        "implements",
        "reps",
        "seconds",
        "rir",
        "rest_s",
        "suspect",
        "note",
        "source_file",
        pl.col("row").alias("source_row"),
    )


def unknown_exercises(rows: pl.DataFrame, known: Mapping[str, object]) -> pl.DataFrame:
    """Names outside the catalogue: one row per athlete and name, with the number of sets."""
    return (
        rows.filter(~pl.col("exercise").is_in(list(known)))
        .group_by("athlete", "exercise_as_logged")
        .agg(pl.len().cast(pl.Int32).alias("sets"))
        .sort("athlete", "exercise_as_logged")
    )
