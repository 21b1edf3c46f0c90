"""Recipes: the sets that one cell asks for, as columns, and what they say in place of their row."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from analytics.intake.cells.reps import Piece
from analytics.intake.rows.marks import ROLE, SIDE
from analytics.intake.rows.weights import LOAD_SCHEMA, load_values

Recipe = tuple[Piece, ...]


def recipe_table(recipes: Sequence[Recipe]) -> pl.DataFrame:
    """One row for each set of all recipes, in order: what it says of itself, null where it does not."""
    schema = {
        "own_load": pl.Boolean(),
        **{f"p_{name}": dtype for name, dtype in LOAD_SCHEMA.items()},
        "p_reps": pl.Int32(),
        "p_seconds": pl.Float64(),
        "p_rir": pl.Float64(),
        "p_role": ROLE,
        "p_chain": pl.Int32(),
        "p_side": SIDE,
        "p_open": pl.Boolean(),
        "p_note": pl.String(),
    }
    return pl.DataFrame(
        [
            (
                p.load is not None,
                *load_values(p.load),
                p.reps,
                p.seconds,
                p.rir,
                p.role,
                p.chain,
                p.sides,
                p.sides is not None and not p.told,
                p.note,
            )
            for recipe in recipes
            for p in recipe
        ],
        schema=schema,
        orient="row",
    )


def with_own(rows: pl.DataFrame, pieces: pl.DataFrame) -> pl.DataFrame:
    """`rows`, one a set, with what each of `pieces`, rows of `recipe_table` beside them, says itself."""
    words = rows.schema["note"]
    rows = pl.concat([rows, pieces], how="horizontal")
    note = pl.concat_str([pl.col("note").cast(pl.String), "p_note"], separator="; ", ignore_nulls=True)
    return rows.with_columns(
        pl.when("own_load").then("p_value").otherwise("value").alias("value"),
        pl.when("own_load").then(pl.coalesce("p_unit", "unit", "unit_said")).otherwise("unit").alias("unit"),
        pl.when("own_load").then("p_bodyweight").otherwise("bodyweight").alias("bodyweight"),
        pl.when("own_load").then("p_implements").otherwise("implements").alias("implements"),
        pl.coalesce("p_reps", "reps").alias("reps"),
        pl.coalesce("p_seconds", "seconds").alias("seconds"),
        pl.coalesce("p_rir", "rir").alias("rir"),
        pl.coalesce("p_role", "role").alias("role"),
        pl.col("p_chain").alias("chain"),
        pl.coalesce("side", "p_side").alias("side"),
        pl.col("p_open").alias("two_sided"),
        pl.when(pl.col("p_note").is_null()).then("note").otherwise(note.cast(words)).alias("note"),
    ).drop(pieces.columns)
