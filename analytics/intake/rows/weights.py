"""Weights: load, added-load and unit cells of one sheet to values with units."""

from __future__ import annotations

import re

import polars as pl

from analytics.intake.cells.loads import EMPTY_WORDS, PER_HAND, Load, parse_load, parse_unit
from analytics.intake.cells.numbers import set_number, tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.units import UNIT_WORDS
from analytics.intake.cells.vocabulary import column_names, meanings
from analytics.intake.header.heading import bare_name
from analytics.intake.lookup import Texts, constant
from analytics.intake.rows.problems import Problems
from analytics.intake.sheet.sheet import Sheet

UNIT = pl.Enum(["kg", "lb"])
_IN_NAME = re.compile(rf"[(\[]\s*({'|'.join(map(re.escape, UNIT_WORDS))})\s*[)\]]\s*$")
_PER_HAND, _HANDFUL = re.compile(PER_HAND), range(1, 5)
_SIDES = meanings("side")
_ONE = "Leave the load empty where the weight was added to the own weight, or else the added one"
LOAD_SCHEMA: dict[str, pl.DataType] = {
    "value": pl.Float64(),
    "unit": UNIT,
    "bodyweight": pl.Boolean(),
    "implements": pl.Int32(),
}


def load_values(load: Load | None) -> tuple[float | None, str | None, bool | None, int | None]:
    """The columns of LOAD_SCHEMA for one load."""
    return (
        (None, None, None, None)
        if load is None
        else (load.value, load.unit, load.bodyweight, load.implements)
    )


def read_weights(sheet: Sheet, decimal: str, problems: Problems, *, skipped: bool) -> pl.DataFrame:
    """Columns of LOAD_SCHEMA for every row: unit from the cell, else the unit column, else the header.

    `skipped`: the load column holds several loads a cell and is read elsewhere.  An added-load column
    counts where there is no load, on top of bodyweight.
    """
    height = sheet.row.len()
    column = None if skipped else sheet.fields.get("load")
    table = _column(column, "load", decimal, problems, height)
    said = sheet.fields.get("unit")
    if said:
        strange = [text for text in said.written if not parse_unit(text) and tidy(text) not in EMPTY_WORDS]
        problems.texts("unit", "load", dict.fromkeys(strange, "is not kg, lb or bodyweight"))
    signed = (
        column.where(lambda text: text[0] in "+-−" and parse_load(text, decimal).signed) if column else None
    )
    if signed is not None:
        if not _says_added(sheet.header("load")):
            signed &= _held(sheet)  # ``+10`` in a row without reps
        if signed.any():
            table = table.with_columns(table["bodyweight"].fill_null(False) | signed)
    table = _with_implements(table, sheet)
    header = sheet.units.get("load") or sheet.units.get("work")
    if said is None and header is None:
        said = _in_names(sheet.fields.get("exercise"))
    table = _with_units(table, said, header)
    if "added" in sheet.fields:
        added = _column(sheet.fields["added"], "added", decimal, problems, height)
        added = _with_units(added, said, sheet.units.get("added"))
        none, more = table["value"].fill_null(0.0) == 0, added["value"].fill_null(0.0) != 0
        use = added["value"].is_not_null() & (table["value"].is_null() | (none & more))
        both = more & ~none & (added["value"] != table["value"])
        if both.any():
            problems.rows(both, "added", "load", "is added to a load: one of them is what was lifted", _ONE)
        table = table.with_columns(
            added["value"].zip_with(use, table["value"]),
            added["unit"].zip_with(use, table["unit"]),
            table["bodyweight"].fill_null(False) | use,
        )
        empty = sheet.fields["added"].ids == 0
        if column is None:
            # A column of added load alone: an empty cell means nothing was added.
            table = table.with_columns(pl.when(empty).then(True).otherwise("bodyweight").alias("bodyweight"))
    return table


def _held(sheet: Sheet) -> pl.Series:
    """The rows of holds, which have a time and no repetitions."""
    times, reps = (sheet.fields.get(name) for name in ("seconds", "reps"))
    none = constant(False, sheet.row.len(), pl.Boolean())
    return none if times is None else (times.ids > 0) & (reps.ids == 0 if reps else ~none)


def _says_added(header: str) -> bool:
    """Whether a column says loads and added loads, ``Belt / load``: a sign tells the added ones."""
    return any(bare_name(part) in column_names("sets")["added"] for part in re.split(r"[/|]", header))


def _with_implements(table: pl.DataFrame, sheet: Sheet) -> pl.DataFrame:
    """How many a load ``per hand`` by its header is held of: by a column that counts them, or both sides."""
    if not _PER_HAND.search(tidy(sheet.header("load"))):
        return table
    count, side = sheet.fields.get("implements"), sheet.fields.get("side")
    told = count.spread(_count, pl.Int32()) if count else side.spread(_both, pl.Int32()) if side else None
    if told is None:
        return table
    some = pl.when(pl.col("value").is_not_null()).then(told)
    return table.with_columns(pl.coalesce("implements", some).alias("implements"))


def _count(text: str) -> int | None:
    number = set_number(text)
    return number if number in _HANDFUL else None


def _both(text: str) -> int | None:
    return 2 if _SIDES.get(plain(tidy(text))) == "both" else None


def _in_names(names: Texts | None) -> Texts | None:
    """The unit behind the name of an exercise, ``Leg press (lb)``, where the file names units there."""
    found = [_IN_NAME.search(tidy(text)) for text in names.texts] if names else []
    if names is None or not any(found):
        return None
    return Texts(names.ids, tuple(UNIT_WORDS[unit[1]] if unit else None for unit in found))


def _column(column: Texts | None, field: str, decimal: str, problems: Problems, height: int) -> pl.DataFrame:
    if column is None:
        return pl.DataFrame(
            [constant(None, height, dtype).alias(name) for name, dtype in LOAD_SCHEMA.items()]
        )
    loads = {text: parse_load(text, decimal) for text in column.written}
    problems.texts(field, "load", {text: load.problem for text, load in loads.items() if load.problem})
    return pl.DataFrame(column.spread_all(lambda text: load_values(loads[text]), LOAD_SCHEMA))


def _with_units(table: pl.DataFrame, said: Texts | None, header: str | None) -> pl.DataFrame:
    if said is not None:
        own, moved = table.get_column("unit"), table.get_column("bodyweight")
        unit = said.spread(lambda text: parse_unit(text) if parse_unit(text) != "bw" else None, UNIT)
        unit = unit if own.null_count() == len(own) else own.zip_with(own.is_not_null(), unit)
        moved = moved.fill_null(False) if moved.null_count() else moved
        table = table.with_columns(unit.alias("unit"), moved)
        body = said.where(lambda text: parse_unit(text) == "bw")
        if body is not None:
            table = table.with_columns(
                pl.col("bodyweight") | body,
                pl.when(body & pl.col("value").is_null()).then(0.0).otherwise("value").alias("value"),
            )
    if header in ("kg", "lb"):
        table = table.with_columns(pl.col("unit").fill_null(pl.lit(header, UNIT)))
    return table
