"""Export: one file's bytes to typed rows of known athletes, and the cells that keep a row out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, partial

import polars as pl

from analytics.errors import BadExport
from analytics.intake.cells.plain import plain
from analytics.intake.lookup import among, any_of, constant
from analytics.intake.rows.days import until
from analytics.intake.rows.defaults import with_unit
from analytics.intake.rows.lifts import by_lift
from analytics.intake.rows.problems import CURES, FAR, FAR_LATER, LATER, LATER_CURE, Problems
from analytics.intake.rows.rows import OVERLONG, Given, read_rows
from analytics.intake.sheet.footnotes import with_footnotes
from analytics.intake.sheet.layout import read_layout
from analytics.intake.sheet.sheet import DAYS_ACROSS, Sheet
from analytics.intake.sheet.years import with_years
from analytics.intake.source.folder import Source, opened
from analytics.intake.source.grid import read_file
from analytics.intake.threads import side_by_side
from analytics.roster import Roster

_TOLD = ("athlete", "exercise", "load", "added", "work", "reps")


@dataclass(frozen=True, kw_only=True)
class Context:
    """What every file of one folder is read against.

    `known`: column names to fields; `words`: the shared dictionary of texts; `athletes`: their ids as a
    type.
    """

    roster: Roster
    as_of: date
    known: Mapping[str, str]
    words: pl.DataType
    athletes: pl.Enum

    @cached_property
    def named(self) -> Mapping[str, str]:
        """Plain name or id of an athlete to the id."""
        people = self.roster.athletes
        return {plain(a.name): a.id for a in people} | {plain(a.id): a.id for a in people}


@dataclass(frozen=True, kw_only=True)
class Export:
    """One file read: the typed `rows` that are fit so far, its `problems`, and its facts for the ledger."""

    name: str
    athlete: str | None
    sheet: Sheet
    rows: pl.DataFrame
    problems: pl.DataFrame
    records: int
    layout: str
    encoding: str
    delimiter: str
    date_order: str
    unit: str


def read_export(source: Source, context: Context) -> Export:
    """One export, its rows after the run's date set aside.

    Raises BadExport where the file as a whole cannot be understood.
    """
    name, athlete = source.name, source.athlete
    with opened(source) as file:
        grid = read_file(file, name)
    sheet = with_footnotes(with_years(read_layout(grid, context.known, name), grid), grid)
    sheet = by_lift(sheet)
    records, delimiter, encoding, cut = grid.cells.height, grid.delimiter, grid.encoding, grid.cut
    del grid
    usual = _shared(context.roster, athlete, "date_order")
    if sheet.layout == DAYS_ACROSS:
        sheet = until(sheet, name, usual, context.as_of)
    problems = Problems(sheet)
    problems.broken_off(cut)
    who = _athletes(sheet, athlete, context, name, problems)
    given = Given(date_order=usual, delimiter=delimiter, words=context.words, as_of=context.as_of)
    read = read_rows(sheet, name, given, problems)
    rows, layout, order = read.rows.drop("part", "piece"), read.layout, read.date_order
    del read
    whole = rows.height == sheet.row.len()
    rows = rows.hstack([(who if whole else who[rows.get_column("at")]).alias("athlete")])
    later = _after(rows.get_column("date"), context.as_of)
    table = problems.table()
    if sheet.overlong is not None:
        # The cells of such a row are not where the header says, so nothing else is told of them.
        lines = sheet.row.filter(sheet.overlong).unique().implode()
        table = table.filter(~pl.col("row").is_in(lines) | (pl.col("reason") == OVERLONG))
    if later.any():
        far = _after(rows.get_column("date"), context.as_of + FAR_LATER)
        table = pl.concat([_others(rows, later, table), _told_later(rows, (later & ~far, far), sheet)])
        rows = rows.filter(~later)
    bad = table.get_column("row").unique()
    if bad.len():
        rows = _taken(rows, ~among(rows.get_column("row"), bad))
    if not rows.height and not later.any():
        sheet = _without_sets(sheet, table, name)
    rows, unit = with_unit(rows, context.roster, name, sheet)
    amounts = [rows.get_column(name) for name in ("value", "reps", "seconds")]
    if all(amount.null_count() for amount in amounts):
        done = any_of([amount.is_not_null() for amount in amounts])
        rows = rows if done.all() else _taken(rows, done)
    return Export(
        name=name,
        athlete=athlete,
        sheet=replace(sheet, fields={name: sheet.fields[name] for name in _TOLD if name in sheet.fields}),
        rows=rows[sorted(rows.columns)],
        problems=table,
        records=records,
        layout=layout,
        encoding=encoding,
        delimiter=delimiter,
        date_order=order,
        unit=unit,
    )


def _taken(rows: pl.DataFrame, mask: pl.Series) -> pl.DataFrame:
    """The rows of a mask, taken out of `rows` column by column, so that the memory of each is used again.

    Of columns without any value, of which there are many, just as many rows.
    """
    if rows.is_empty():
        return rows
    count, height = int(mask.sum()), rows.height
    names = rows.columns
    columns = {name: rows.drop_in_place(name) for name in names}

    def some(name: str) -> pl.Series:
        column = columns.pop(name)
        return column.head(count) if column.null_count() == height else column.filter(mask)

    return pl.DataFrame(side_by_side([partial(some, name) for name in names], height))


def _after(days: pl.Series, day: date) -> pl.Series:
    later = days > day
    return later.fill_null(False) if later.null_count() else later


def _others(rows: pl.DataFrame, later: pl.Series, table: pl.DataFrame) -> pl.DataFrame:
    """The problems of rows up to the run's date: of later ones nothing else is told."""
    return table.filter(~pl.col("row").is_in(rows.filter(later).get_column("row").unique().implode()))


def _told_later(rows: pl.DataFrame, masks: tuple[pl.Series, pl.Series], sheet: Sheet) -> pl.DataFrame:
    """Rows after the run's date, each told once: near ones will count later, far ones are mistakes."""
    told = Problems(sheet)
    for later, kind, reason, cure in zip(
        masks, ("later", "date"), (LATER, FAR), (LATER_CURE, CURES["date"]), strict=True
    ):
        lines = rows.filter(later).get_column("row").unique().implode()
        mask = pl.select(sheet.row.is_in(lines)).to_series() & (sheet.part == sheet.part.min())
        if sheet.layout == "numbered columns":
            mask = pl.select(sheet.row.is_in(lines)).to_series() & sheet.row.is_first_distinct()
        if mask.any():
            told.rows(mask, "date", kind, reason, cure)
    return told.table()


def _without_sets(sheet: Sheet, table: pl.DataFrame, name: str) -> Sheet:
    """The sheet of a file without a set, which the ledger tells.

    Raises BadExport where a layout without named columns was taken for a log and nothing in it can be read.
    """
    if not table.height:
        return replace(sheet, remarks=(*sheet.remarks, "no line of it holds a set"))
    if sheet.headers:
        return sheet
    told = table.sort(pl.col("cell").is_null(), "row", maintain_order=True)
    line, cell, reason = told.select("row", "cell", "reason").row(0)
    raise BadExport(name, line, f"no line of it reads as a set ({cell!r} {reason})", CURES["set"])


def _shared(roster: Roster, athlete: str | None, key: str) -> str | None:
    """The default of one athlete; of all of them, where they agree, for a file with an athlete column."""
    if athlete is not None:
        return getattr(roster.athlete(athlete), key)
    values = {getattr(a, key) for a in roster.athletes}
    return values.pop() if len(values) == 1 else None


def _athletes(
    sheet: Sheet, athlete: str | None, context: Context, name: str, problems: Problems
) -> pl.Series:
    """Whose each row is: by the file's place, else by its athlete column."""
    column = sheet.fields.get("athlete")
    found = {text: context.named.get(plain(text)) for text in column.written} if column else {}
    if athlete is not None:
        others = {text: who for text, who in found.items() if who not in (None, athlete)}
        if others:
            reason = f"is another athlete, and the file stands with {athlete}"
            problems.texts("athlete", "athlete", dict.fromkeys(others, reason))
        return constant(athlete, sheet.row.len(), context.athletes)
    if column is None:
        raise BadExport(
            name,
            1,
            "nothing says whose log this is",
            "Put it into exports/<athlete id>/, or add a column with the athlete's id",
        )
    if found and not any(found.values()):
        stranger = next(iter(found))
        raise BadExport(
            name,
            int(sheet.row[0]),
            f"no athlete of the roster is named in it (found {stranger[:40]!r})",
            CURES["athlete"],
        )
    strangers = {text: "is not an athlete of the roster" for text, who in found.items() if who is None}
    problems.texts("athlete", "athlete", strangers, "is empty")
    return column.spread(found.get, context.athletes)
