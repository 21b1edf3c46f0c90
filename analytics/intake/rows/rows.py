"""Rows: one sheet as typed values, one row a set, and the cells that keep a source row out."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import polars as pl

from analytics.errors import BadExport
from analytics.intake.cells.numbers import decimal_mark, set_number
from analytics.intake.cells.remark import is_error
from analytics.intake.cells.reps import parse_reps
from analytics.intake.cells.shorthand import decimal_tokens
from analytics.intake.cells.words import parse_answer, parse_role
from analytics.intake.lookup import Texts, constant
from analytics.intake.rows.copies import tell_copies
from analytics.intake.rows.days import read_days
from analytics.intake.rows.jumps import tell_jumps
from analytics.intake.rows.lifts import tell_untimed, tell_ways
from analytics.intake.rows.marks import read_marks, with_attached, with_noted
from analytics.intake.rows.problems import CURES, Problems
from analytics.intake.rows.unfold import find_columns, unfold
from analytics.intake.rows.weights import UNIT, read_weights
from analytics.intake.sheet.sheet import Sheet
from analytics.intake.threads import side_by_side

OVERLONG = "does not have the columns of the header: a delimiter too many, or another one"


@dataclass(frozen=True, kw_only=True)
class Read:
    """One file's typed `rows` and what was decided for it.

    Columns of `rows`: `at` (place in the sheet), `row, part, piece` (where the set stands), `date, minutes,
    exercise, session, set_no, value, unit, bodyweight, implements, reps, seconds, rir, role, chain, side,
    two_sided, rest_s, superset, note`.
    """

    rows: pl.DataFrame
    date_order: str
    layout: str


@dataclass(frozen=True, kw_only=True)
class Given:
    """What a sheet does not say by itself: the athlete's usual `date_order`, the file's `delimiter`, the
    shared dictionary of `words`, and the day `as_of`, after which no row is evidence against earlier ones."""

    date_order: str | None
    delimiter: str
    words: pl.DataType
    as_of: date


def read_rows(sheet: Sheet, path: str, given: Given, problems: Problems) -> Read:
    """The typed rows of a sheet; cells that cannot be read go to `problems`.

    Raises BadExport where the exercise or the date is missing, the loads are in another unit than kg and lb,
    or the order of day and month cannot be known.
    """
    _ask_for_units(sheet, path)
    if sheet.overlong is not None and sheet.overlong.any():
        problems.rows(
            sheet.overlong,
            "row",
            "set",
            OVERLONG,
            "Put a cell that holds the delimiter in quotes, and part all rows alike",
        )
    days = read_days(sheet, path, given.date_order, problems)
    exercise = sheet.fields.get("exercise")
    if exercise is None:
        cure = "Add an exercise column, or list its header in roster.toml under [columns]"
        raise BadExport(path, 1, "no column and no heading names the exercise", cure)
    decimal = _decimal(sheet, given.delimiter)
    columns = find_columns(sheet, decimal)
    height = sheet.row.len()
    loads = columns.loads or columns.work == "load"
    several = columns.any or "sets" in sheet.fields or bool(sheet.part.max())
    of_weights, of_reps = Problems(sheet), Problems(sheet)
    steps = (
        lambda: days.table(sheet),
        lambda: read_marks(sheet, decimal, given.words, several=several),
        lambda: read_weights(sheet, decimal, of_weights, skipped=loads),
        lambda: _reps(sheet, of_reps, skipped=columns.any and columns.work in (None, "reps")),
    )
    when, marks, weights, reps = side_by_side(steps, height)
    _tell_unticked(sheet, problems)
    past = (when.get_column("date") <= given.as_of).fill_null(False)
    days_past = when.get_column("date").set(~past, None)
    tell_copies(sheet, days_past, when.get_column("minutes"), problems)
    tell_jumps(sheet, days_past, problems)
    if "sets" in sheet.fields and columns.work != "sets":
        problems.texts("sets", "set", _uncounted(sheet.fields["sets"]))
    rows = pl.DataFrame(
        {
            "at": pl.int_range(height, dtype=pl.UInt32, eager=True),
            "row": sheet.row,
            "part": sheet.part,
            "exercise": exercise.categorical(given.words),
        }
    )
    rows = rows.hstack([*when.get_columns(), *weights.get_columns(), *marks.get_columns()])
    rows = with_attached(rows, sheet)
    problems.add(of_weights)
    broken = dict.fromkeys(filter(is_error, exercise.written), "is what a spreadsheet writes for an error")
    problems.texts("exercise", "exercise", broken, "is empty")
    problems.add(of_reps)
    rows = _with_reps(rows, reps)
    if "timed" in reps.columns:
        tell_untimed(rows, past, sheet, problems)
    tell_ways(rows, past, sheet, problems)
    if not columns.any and "sets" not in sheet.fields and "reps" in sheet.fields:
        _tell_half(rows, past, sheet, problems)
    rows = rows.hstack(
        [
            constant(0, height, pl.Int32()).alias("piece"),
            constant(None, height, pl.Int32()).alias("chain"),
            constant(False, height, pl.Boolean()).alias("two_sided"),
        ]
    )
    layout = sheet.layout
    if columns.any or "sets" in sheet.fields:
        header = sheet.units.get("work") or sheet.units.get("load")
        said = pl.lit(header if header in ("kg", "lb") else None, UNIT)
        rows = rows.with_columns(said.alias("unit_said"))
        rows = unfold(rows, sheet, columns, decimal, problems).drop("unit_said")
        rows = with_noted(rows, sheet, decimal)
        if layout == "row per set" and (columns.any or rows.height != height):
            layout = "row per exercise"
    return Read(rows=rows, date_order=days.order, layout=layout)


def _ask_for_units(sheet: Sheet, path: str) -> None:
    """Raise BadExport where a header has its loads in another unit than kg and lb."""
    for name in ("load", "added", "work"):
        unit = sheet.units.get(name, "kg")
        if unit not in ("kg", "lb"):
            found = f"the header {sheet.header(name)!r} says {unit}"
            raise BadExport(path, 1, found, "Export the loads in kg or lb")


def _tell_unticked(sheet: Sheet, problems: Problems) -> None:
    """Rows without a tick, or with other words, in a file that ticks others: were they done?"""
    if skipped := sheet.fields.get("skipped"):
        other = {
            text: "says neither skipped nor done" for text in skipped.written if parse_answer(text) is None
        }
        problems.texts("skipped", "set", other)
    ticked = sheet.fields.get("ticked")
    if ticked is None or ticked.where(lambda text: parse_answer(text) is True) is None:
        return
    empty = ticked.ids == 0
    if empty.any():
        cure = "Tick it if it was done, and delete the row if it was not"
        problems.rows(empty, "ticked", "set", "is not ticked, and other rows of the file are", cure)
    other = {text: "says neither done nor not done" for text in ticked.written if parse_answer(text) is None}
    problems.texts("ticked", "set", other)


def _tell_half(rows: pl.DataFrame, past: pl.Series, sheet: Sheet, problems: Problems) -> None:
    """Rows with a load and no reps, of an exercise that has reps elsewhere in the `past`: were they done?"""
    empty = sheet.fields["reps"].ids == 0
    if not empty.any():
        return
    undone = pl.col("reps").is_null() & pl.col("seconds").is_null() & (pl.col("value") != 0)
    counted = rows.filter(pl.col("reps").is_not_null() & past).get_column("exercise").unique()
    half = rows.select(undone & pl.col("exercise").is_in(counted.implode())).to_series().fill_null(False)
    half &= empty
    if half.any():
        problems.rows(half, "reps", "reps", "is empty beside a load", CURES["reps"])


def _uncounted(column: Texts) -> dict[str, str]:
    """The texts of a column of set counts that are neither a number nor a word for a role."""
    wrong = [text for text in column.written if set_number(text) is None and parse_role(text)[2]]
    return dict.fromkeys(wrong, "is not a number of sets")


def _decimal(sheet: Sheet, delimiter: str) -> str:
    cells: list[str] = []
    for name in ("load", "added", "rir", "rpe"):
        if name in sheet.fields:
            cells += sheet.fields[name].written
    for name in ("work", "sets", "reps"):
        if name in sheet.fields:
            cells += decimal_tokens(sheet.fields[name].written)
    return decimal_mark(cells, "comma" if delimiter == "semicolon" else "point")


def _reps(sheet: Sheet, problems: Problems, *, skipped: bool) -> pl.DataFrame:
    """`reps` of every row, and `timed` and `failed` where some cell says seconds or failure."""
    column = None if skipped else sheet.fields.get("reps")
    if column is None:
        return pl.DataFrame([constant(None, sheet.row.len(), pl.Int32()).alias("reps")])
    found = {text: parse_reps(text) for text in column.written}
    problems.texts("reps", "reps", {text: problem for text, (_, problem) in found.items() if problem})
    table = [column.spread(lambda text: found[text][0].reps, pl.Int32()).alias("reps")]
    if any(piece.seconds is not None for piece, _ in found.values()):
        timed = column.spread(lambda text: found[text][0].seconds, pl.Float64())
        table.append(timed.alias("timed"))
    if any(piece.rir is not None for piece, _ in found.values()):
        failed = column.spread(lambda text: found[text][0].rir, pl.Float64())
        table.append(failed.alias("failed"))
    return pl.DataFrame(table)


def _with_reps(rows: pl.DataFrame, reps: pl.DataFrame) -> pl.DataFrame:
    rows = rows.hstack([reps.get_column("reps")])
    for name, column in (("timed", "seconds"), ("failed", "rir")):
        if name in reps.columns:
            rows = rows.with_columns(pl.coalesce(reps.get_column(name), column).alias(column))
    return rows
