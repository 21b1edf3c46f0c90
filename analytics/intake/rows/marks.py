"""Marks: the cells of a sheet that may stay empty: effort, role, side, rest, time, set number, note."""

from __future__ import annotations

import re
from collections.abc import Callable

import polars as pl

from analytics.intake.cells.effort import noted_rir, parse_rir, parse_rpe, parse_seconds
from analytics.intake.cells.numbers import any_number, set_number, tidy
from analytics.intake.cells.words import (
    parse_answer,
    parse_failure,
    parse_role,
    parse_roles,
    parse_side,
    role_of_note,
)
from analytics.intake.lookup import Texts, constant
from analytics.intake.sheet.sheet import Sheet
from analytics.schema import ROLES

ROLE = pl.Enum(ROLES)
SIDE = pl.Enum(["left", "right"])
_ATTACHED, _SPLIT = re.compile(r"\d{1,2}\s?[b-e]"), re.compile(r"\d{1,2}\s?a")
_Read = Callable[[str], tuple[object, str | None]]


def read_marks(sheet: Sheet, decimal: str, words: pl.DataType, *, several: bool) -> pl.DataFrame:
    """`rir, role, set_no, side, rest_s, seconds, session, superset, note` of every row; null if not written.

    A cell that cannot be read, and an RPE below 7, stay empty as values; their text is kept in the note.
    What a note names counts where no column says it: effort, and where no row holds `several` sets role and
    failure (see `with_noted`).  A role may also stand in a column of effort.
    """
    reader = _Reader(sheet)
    rir = reader.column("rir", lambda text: parse_rir(text, decimal), pl.Float64())
    rpe = reader.column("rpe", lambda text: parse_rpe(text, decimal), pl.Float64())
    failed = reader.column("failure", parse_failure, pl.Boolean())
    roles = _roles(sheet.fields.get("role"))
    role = reader.column("role", lambda text: (roles[text][0], roles[text][2]), ROLE)
    role_failed = reader.quiet("role", lambda text: roles[text][1], pl.Boolean())
    letter = reader.quiet("set_number", _letter_role, ROLE)
    letter_failed = reader.quiet("set_number", lambda text: parse_role(text)[1], pl.Boolean())
    warm = reader.column("warm_up", _warm_up, ROLE)
    noted = reader.quiet("note", lambda text: noted_rir(text, decimal, alone=not several), pl.Float64())
    unrated = _first(reader.quiet("rpe", role_of_note, ROLE), reader.quiet("rir", role_of_note, ROLE))
    noted_role = None if several else reader.quiet("note", role_of_note, ROLE)
    fails = [mask for mask in (failed, role_failed, letter_failed) if mask is not None and mask.any()]
    rest_unit, hold_unit = _time_unit(sheet, "rest"), _time_unit(sheet, "seconds", "s")
    columns = {
        "rir": _first(_first(rir, rpe), noted),
        "role": _first(_first(_first(_first(role, letter), warm), unrated), noted_role),
        "set_no": reader.column("set_number", _numbered, pl.Int32()),
        "side": reader.column("side", _side_reader(sheet.fields.get("side")), SIDE),
        "rest_s": reader.column("rest", lambda text: parse_seconds(text, rest_unit), pl.Float64()),
        "seconds": reader.column("seconds", lambda text: _held(text, hold_unit), pl.Float64()),
        "session": reader.words("session", words),
        "superset": reader.words("superset", words),
        "note": reader.note(words),
    }
    dtypes = {
        "rir": pl.Float64(),
        "role": ROLE,
        "set_no": pl.Int32(),
        "side": SIDE,
        "rest_s": pl.Float64(),
        "seconds": pl.Float64(),
        "session": words,
        "superset": words,
        "note": words,
    }
    height = sheet.row.len()
    table = pl.DataFrame(
        [
            constant(None, height, dtypes[name]).alias(name) if column is None else column.alias(name)
            for name, column in columns.items()
        ]
    )
    for mask in fails:
        table = table.with_columns(pl.when(mask).then(0.0).otherwise("rir").alias("rir"))
    return table


def _roles(column: Texts | None) -> dict[str, tuple[str | None, bool, str | None]]:
    return parse_roles(column.written, filled=bool((column.ids != 0).all())) if column else {}


class _Reader:
    """Reads columns of one sheet and remembers what could not be read."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._kept: list[pl.Series] = []

    def column(self, name: str, read: _Read, dtype: pl.DataType) -> pl.Series | None:
        """The values of a field, None where the file has no such column."""
        column = self._sheet.fields.get(name)
        if column is None:
            return None
        found = {text: read(text) for text in column.written}
        if any(problem for _, problem in found.values()):
            header = self._sheet.header(name)
            self._kept.append(
                column.spread(lambda text: f"{header}: {text}" if found[text][1] else None, pl.String())
            )
        return column.spread(lambda text: found[text][0], dtype)

    def quiet(self, name: str, read: Callable[[str], object], dtype: pl.DataType) -> pl.Series | None:
        """As `column`, for a second value of the same cells; None where no text has one."""
        column = self._sheet.fields.get(name)
        found = {text: read(text) for text in column.written} if column else {}
        if column is None or all(value is None or value is False for value in found.values()):
            return None
        return column.spread(found.__getitem__, dtype)

    def words(self, name: str, words: pl.DataType) -> pl.Series | None:
        """A field kept as text."""
        column = self._sheet.fields.get(name)
        return None if column is None else column.categorical(words)

    def note(self, words: pl.DataType) -> pl.Series | None:
        """The note, followed by the texts of the cells that could not be read."""
        column: Texts | None = self._sheet.fields.get("note")
        if not self._kept:
            return None if column is None else column.categorical(words)
        parts = ([column.cells()] if column else []) + self._kept
        joined = pl.select(pl.concat_str(parts, separator="; ", ignore_nulls=True).replace("", None))
        return joined.to_series().cast(words)


def _first(one: pl.Series | None, other: pl.Series | None) -> pl.Series | None:
    if one is None or other is None:
        return one if other is None else other
    return one.zip_with(one.is_not_null(), other)


def _warm_up(text: str) -> tuple[str | None, str | None]:
    """The role a column ``Warm-up`` says by yes or no, or by the word itself."""
    answer = parse_answer(text)
    if answer is None:
        role = parse_role(text)[0]
        return role, None if role else "is neither yes nor no"
    return ("warm_up" if answer else None), None


def _letter_role(text: str) -> str | None:
    return None if _ATTACHED.fullmatch(tidy(text)) else parse_role(text)[0]


def with_attached(rows: pl.DataFrame, sheet: Sheet) -> pl.DataFrame:
    """`rows` (one per row of the sheet) with the role of the sets 3b and 3c that hang on a set 3.

    A lighter one is a drop, one with the same load a rest-pause; nothing is said in a file that has 3a.
    """
    numbers = sheet.fields.get("set_number")
    if numbers is None or any(_SPLIT.fullmatch(tidy(text)) for text in numbers.written):
        return rows
    attached = numbers.where(lambda text: _ATTACHED.fullmatch(tidy(text)) is not None)
    if attached is None:
        return rows
    same = pl.all_horizontal(pl.col(name).eq_missing(pl.col(name).shift(1)) for name in ("date", "exercise"))
    head = pl.when(~attached).then("value").forward_fill()
    same_load = pl.when(pl.col("value") == head).then(pl.lit("rest_pause", ROLE))
    role = pl.when(pl.col("value") < head).then(pl.lit("drop", ROLE)).otherwise(same_load)
    return rows.with_columns(
        pl.when(attached & same & pl.col("role").is_null()).then(role).otherwise("role").alias("role")
    )


def with_noted(rows: pl.DataFrame, sheet: Sheet, decimal: str) -> pl.DataFrame:
    """`rows` (one a set) with the role and the failure that the note of a row with a single set names.

    A note beside a count of equal sets says that all of them are warm-ups or back-offs.
    """
    note = sheet.fields.get("note")
    if note is None or sheet.part.max():
        return rows
    reader = _Reader(sheet)
    alone = pl.len().over("at") == 1
    if (role := reader.quiet("note", role_of_note, ROLE)) is not None:
        said = role[rows.get_column("at")].alias("said")
        equal = pl.lit("sets" in sheet.fields) & pl.col("said").is_in(["warm_up", "back_off"])
        counts = pl.when(alone | (equal & pl.col("chain").is_null())).then("said")
        rows = rows.with_columns(said).with_columns(pl.coalesce("role", counts).alias("role")).drop("said")
    failed = reader.quiet("note", lambda text: noted_rir(text, decimal, alone=True) == 0, pl.Boolean())
    if failed is not None:
        mask = pl.lit(failed[rows.get_column("at")].fill_null(False)) & alone
        rows = rows.with_columns(
            pl.when(mask & pl.col("rir").is_null()).then(0.0).otherwise("rir").alias("rir")
        )
    return rows


def _side_reader(column: Texts | None) -> _Read:
    """``S`` is left in a column that also has ``D``, as in Italian."""
    letters = {tidy(text) for text in column.written} if column else set()
    return (lambda text: parse_side("sx" if tidy(text) == "s" else text)) if "d" in letters else parse_side


def _held(text: str, unit: str) -> tuple[float | None, str | None]:
    """As `parse_seconds`; no time at all is not recorded."""
    seconds, problem = parse_seconds(text, unit)
    return seconds or None, problem


def _numbered(text: str) -> tuple[int | None, str | None]:
    number = set_number(text)
    if number is not None:
        return number, None
    if _ATTACHED.fullmatch(tidy(text)):
        return None, "is no number"
    role, failure, problem = parse_role(text)
    return None, problem if role is None and not failure else None


def _time_unit(sheet: Sheet, name: str, default: str | None = None) -> str:
    """Seconds, unless the header says minutes or every plain number of the file is at most 10."""
    said = sheet.units.get(name) or default
    if said in ("s", "min"):
        return said
    column = sheet.fields.get(name)
    numbers = [number for text in (column.written if column else []) if (number := any_number(tidy(text)))]
    return "min" if numbers and max(numbers) <= 10 else "s"
