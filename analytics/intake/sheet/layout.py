"""Layout: a grid of cells to one table of named text fields, whichever of the four layouts the file has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial

import polars as pl

from analytics.errors import BadExport
from analytics.intake.cells.remark import is_remark
from analytics.intake.columns.carry import carry_down
from analytics.intake.columns.decimals import rejoined
from analytics.intake.columns.ditto import repeat_marks
from analytics.intake.columns.meaning import (
    no_count_or_reps,
    no_part_of_load,
    nothing_missing,
    settled,
    settled_beside_sets,
    with_equipment,
)
from analytics.intake.columns.parts import explain
from analytics.intake.columns.planned import take_plans
from analytics.intake.columns.plates import numbers_stack, tell_plates
from analytics.intake.columns.rivals import choices, chosen
from analytics.intake.columns.surplus import beyond_names, other_delimiters
from analytics.intake.columns.undone import summing, undone
from analytics.intake.columns.weekdays import with_weekdays
from analytics.intake.columns.weeks import with_weeks
from analytics.intake.header.head import Head, read_head
from analytics.intake.header.heading import Dictionary, Heading, normal
from analytics.intake.header.sides import SIDES
from analytics.intake.lookup import Texts, all_of, any_of, constant
from analytics.intake.sheet.blocks import read_blocks
from analytics.intake.sheet.diary import joined, read_diary
from analytics.intake.sheet.matrix import read_matrix
from analytics.intake.sheet.numbered import said_of, stack_sets
from analytics.intake.sheet.sections import athletes_above, units_above, with_units
from analytics.intake.sheet.sheet import DAYS_ACROSS, Sheet
from analytics.intake.sheet.stretches import apart, read_stretches, stacked, straightened
from analytics.intake.source.delimiter import DELIMITERS
from analytics.intake.source.grid import Grid
from analytics.intake.source.records import Records

SEARCHED_LINES = 80
_DONE = ("load", "added", "reps", "seconds", "work", "sets")
_TELLING = ("date", "exercise", "athlete", "set_number", "session")
_LONGEST_DIARY = 100_000


def read_layout(grid: Grid, known: Mapping[str, str], path: str) -> Sheet:
    """The sheet of a grid.  Raises BadExport where no line names the columns."""
    head = [list(record) for record in grid.cells.written(0, SEARCHED_LINES)]
    if grid.cells.height <= SEARCHED_LINES and not any(
        cell and cell.strip() for record in head for cell in record
    ):
        raise BadExport(path, 1, "the file is empty", "Export it again")
    try:
        told = read_head(head, known, path)
    except BadExport:
        if sheet := _matrix(grid, known, path) or _diary(grid):
            return with_units(sheet, grid)
        raise
    if not {"date", "exercise"} <= {h.field for h in told.headings}:
        return _blocks(grid, known, told, path)
    stretches = read_stretches(grid, told, known)
    if tables := apart(grid, stretches):
        return stacked(tables, partial(read_layout, known=known, path=path), path)
    whole = grid
    grid, told = straightened(grid, told, stretches, path)
    numbers = sorted({h.set_number for h in told.headings if h.set_number is not None})
    row, columns, headings, beyond, carried = _body(grid, told, path)
    remarks = (*carried, *told.remarks, *choices(told.headings, told.rivals, headings))
    units = {**told.units, **{h.field: h.unit for h in headings if h.unit and h in told.rivals}}
    headers = {(h.field, h.set_number): h.text for h in headings}
    shared = {h.field: columns[h.column] for h in headings if h.set_number is None}
    fields, part = shared, constant(0, row.len(), pl.Int32())
    if numbers:
        shared.pop("sets", None)  # a plan: each numbered column is one set
        fields, row, part, beyond = stack_sets(row, columns, shared, headings, numbers, beyond)
        for name in ("side", "role"):
            if any(getattr(h, name) for h in headings) and name not in fields:
                fields[name] = said_of(headings, part, name)
    if "athlete" not in fields and (athletes := athletes_above(whole, row, known)):
        fields["athlete"] = athletes
    if "unit" not in fields and (said := units_above(grid, row, told.rows_at)):
        fields["unit"] = said
        remarks = (*remarks, f"{' and '.join(said.written)} by a line among the rows")
    return Sheet(
        row=row,
        part=part,
        fields=fields,
        layout="numbered columns" if numbers else "row per set",
        units=units,
        headers=headers,
        overlong=beyond,
        remarks=remarks,
    )


def _body(
    grid: Grid, head: Head, path: str
) -> tuple[pl.Series, dict[int, Texts], list[Heading], pl.Series | None, tuple[str, ...]]:
    """(lines, texts by column, headings, overlong mask, remarks) of the rows that may hold sets.

    Left out are blank rows, rows where nothing was done, comments, totals and repeated headers.
    """
    grid, remarks = rejoined(grid, head)
    cells = grid.cells.between(head.rows_at)
    named = (*head.headings, *head.rivals)
    columns = {h.column: cells.texts(h.column) for h in named}
    headings = chosen(head.headings, head.rivals, columns, (path, head.line))
    headings = with_weekdays(head, headings, columns, cells)
    columns = {h.column: columns[h.column] for h in headings}
    tell_plates(cells, head.unused, headings, columns)
    remarks += take_plans(cells, head.unused, headings, columns)
    numbered = any(h.set_number for h in headings)
    explain(headings, columns, head.legend)
    headings = settled_beside_sets(headings, columns) if numbered else settled(headings, columns)
    with_equipment(headings, columns)
    no_part_of_load(headings, head.unused.values(), (path, head.line))
    no_count_or_reps(headings, columns, (path, head.line))
    _ask_for_missing(cells, head, headings, columns, path)
    done = any_of([columns[h.column].ids > 0 for h in headings if h.field in _DONE])
    if (not_done := undone(headings, columns)) is not None:
        done = done & ~not_done
    unwanted = [columns[h.column].where(is_remark) for h in headings if h.field in _TELLING]
    again = [columns[h.column].where(h.text.strip().__eq__) for h in headings[:3]]
    unwanted.append(summing(headings, columns))
    if all(mask is not None for mask in again):
        unwanted.append(all_of([mask for mask in again if mask is not None]))
    if (repeated := _all_equal(columns, head.below)) is not None:
        unwanted.append(repeated)
    told = [mask for mask in unwanted if mask is not None]
    wanted = ~any_of(told) if told else constant(True, done.len(), pl.Boolean())
    keep = done & wanted
    remarks += with_weeks(grid, head, columns, headings)
    remarks += repeat_marks(columns, headings, keep) + carry_down(columns, headings, keep, ~done & wanted)
    masks = beyond_names(cells, grid.widths, head, columns, headings, keep)
    masks += other_delimiters(cells, grid.delimiter, keep)
    beyond = any_of(masks) if masks else None
    keep = keep if beyond is None else keep | beyond
    row = cells.lines
    if not keep.all():
        row = row.filter(keep)
        columns = {i: column.take(keep) for i, column in columns.items()}
        beyond = None if beyond is None else beyond.filter(keep)
    return row, columns, headings, beyond, remarks


def _all_equal(columns: Mapping[int, Texts], below: Mapping[int, str]) -> pl.Series | None:
    """The rows that repeat the second line of a header; None where it has none."""
    again = [columns[i].where(text.__eq__) for i, text in below.items() if i in columns]
    masks = [mask for mask in again if mask is not None]
    return all_of(masks) if masks and len(masks) == len(again) else None


def _ask_for_missing(
    cells: Records, head: Head, headings: list[Heading], columns: dict[int, Texts], path: str
) -> None:
    """Raise BadExport if the reps or the load may stand in a column that has a name nobody knows."""
    fields = {h.field for h in headings}
    told = "work" in fields or (fields & {"load", "added"} and fields & {"reps", "seconds"})
    if told and sum(normal(name) in SIDES for name in head.unused.values()) < 2:
        return
    unused = {name: cells.texts(i) for i, name in head.unused.items()}
    nothing_missing(headings, columns, unused, (path, head.line))


def _diary(grid: Grid) -> Sheet | None:
    """The sheet of a text without a header whose lines are dates, names and shorthand; else None."""
    sign = next(sign for sign, name in DELIMITERS.items() if name == grid.delimiter)
    lines = [joined(record, sign) for record in grid.cells.written(0, _LONGEST_DIARY)]
    rows = read_diary(list(zip(grid.cells.lines.to_list(), lines, strict=False)), is_remark)
    if not rows or grid.cells.height > _LONGEST_DIARY:
        return None
    return _sheet_of(rows, grid, {})


def _matrix(grid: Grid, known: Mapping[str, str], path: str) -> Sheet | None:
    """The sheet of a table of days by exercises; else None."""
    records = list(zip(grid.cells.lines.to_list(), grid.cells.written(0, _LONGEST_DIARY), strict=False))
    found = read_matrix(records, known, is_remark, path)
    if not found or not found[0] or grid.cells.height > _LONGEST_DIARY:
        return None
    rows, remarks = found
    parts = [row.pop("part", 0) for row in rows]
    sheet = replace(_sheet_of(rows, grid, {}), remarks=remarks)
    return replace(sheet, part=pl.Series(parts, dtype=pl.Int32), layout=DAYS_ACROSS) if any(parts) else sheet


def _blocks(grid: Grid, known: Mapping[str, str], told: Head, path: str) -> Sheet:
    """The sheet of a file whose header lacks the date or the exercise, which then stand in heading lines."""
    records = list(zip(grid.cells.lines.to_list(), grid.cells.written(), strict=True))
    rows, headings, remarks = read_blocks(records, Dictionary({**known, **told.names}), is_remark, path)
    rows = [row for row in rows if any(row.get(name) for name in _DONE)]
    named = {h.field: h.unit for h in reversed(headings) if h.unit and not numbers_stack(h.unit)}
    units = {**told.units, **named}
    sheet = _sheet_of(rows, grid, units, {(h.field, None): h.text for h in reversed(headings)})
    sheet = replace(_meant(sheet, headings, told.legend), remarks=remarks)
    return sheet if "unit" in sheet.fields else with_units(sheet, grid)


def _meant(sheet: Sheet, headings: list[Heading], legend: Mapping[str, str]) -> Sheet:
    """A sheet of blocks whose fields say what their cells show, without the sets that are not ticked off."""
    texts = {h.field: h.text for h in reversed(headings)}
    found = [Heading(i, texts.get(name, name), name) for i, name in enumerate(sheet.fields)]
    columns = dict(enumerate(sheet.fields.values()))
    explain(found, columns, legend)
    if not any(h.set_number for h in headings):
        found = settled(found, columns)
    with_equipment(found, columns)
    fields = {h.field: columns[h.column] for h in found}
    told = [mask for mask in (undone(found, columns), summing(found, columns)) if mask is not None]
    if not told:
        return replace(sheet, fields=fields)
    not_done = any_of(told)
    row, part = sheet.row.filter(~not_done), sheet.part.filter(~not_done)
    return replace(sheet, row=row, part=part, fields={name: t.take(~not_done) for name, t in fields.items()})


def _sheet_of(
    rows: list[dict[str, object]],
    grid: Grid,
    units: Mapping[str, str],
    headers: Mapping[tuple[str, int | None], str] | None = None,
) -> Sheet:
    names = sorted({name for row in rows for name in row} - {"row"})
    cells = {name: [row.get(name) for row in rows] for name in names}
    return Sheet(
        row=pl.Series([row["row"] for row in rows], dtype=pl.Int32),
        part=constant(0, len(rows), pl.Int32()),
        fields={name: Texts.of_strings(pl.Series(told, dtype=pl.String)) for name, told in cells.items()},
        layout="blocks",
        units=units,
        headers=headers or {},
    )
