"""Stretches: a table whose header changes further down, put into the columns of one header."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import polars as pl

from analytics.errors import BadExport
from analytics.intake.cells.dates import Moment, read_moment
from analytics.intake.cells.dayorder import decide_order
from analytics.intake.header.head import Head
from analytics.intake.header.heading import Heading
from analytics.intake.header.headline import read_headings
from analytics.intake.lookup import Texts, constant
from analytics.intake.sheet.sheet import Sheet
from analytics.intake.source.grid import Grid
from analytics.intake.source.records import Records

_CURE = "Save the lines from there on as a file of their own"
_NEEDED = {"date", "exercise"}


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Rows `start` to `end` (0-based, end not included) under one header, whose last column is `last`."""

    start: int
    end: int
    headings: tuple[Heading, ...]
    units: Mapping[str, str]
    last: int

    @property
    def by_key(self) -> dict[tuple[str, str | None], Heading]:
        """Headings by field and side."""
        return {(h.field, h.side): h for h in self.headings}


def apart(grid: Grid, found: Sequence[Stretch]) -> list[tuple[int, Grid]]:
    """(line, grid) of each table where a later header names other columns and one holds several sets a row.

    Lines of at most one cell right above a header belong to its table.
    """
    if len(found) < 2 or not any(h.set_number for stretch in found for h in stretch.headings):
        return []
    starts = [_above(grid, stretch.start - 1) for stretch in found[1:]]
    bounds = list(itertools.pairwise([0, *starts, grid.cells.height]))
    return [
        (int(grid.cells.lines[stretch.start - 1]), replace(grid, cells=grid.cells.between(a, b), widths=None))
        for stretch, (a, b) in zip(found, bounds, strict=True)
        if stretch.headings
    ]


def _above(grid: Grid, at: int) -> int:
    """The first of the lines with at most one filled cell right above the header at `at`."""
    records = grid.cells.written(0, at)
    while at and sum(bool(cell and cell.strip()) for cell in records[at - 1]) <= 1:
        at -= 1
    return at


def stacked(tables: Sequence[tuple[int, Grid]], read: Callable[[Grid], Sheet], path: str) -> Sheet:
    """The sheets that `read` makes of the tables of one file as one, each with its own unit of load.

    Raises BadExport where a table cannot be read, or where another unit changes with its header.
    """
    sheets, lines = [], [line for line, _ in tables]
    for line, table in tables:
        try:
            sheets.append(read(table))
        except BadExport as error:
            raise BadExport(path, line, error.found, error.cure) from error
    for name in {name for sheet in sheets for name in sheet.units} - {"load"}:
        if (
            len({sheet.units.get(name) for sheet in sheets if name in sheet.fields or name in sheet.units})
            > 1
        ):
            raise BadExport(path, lines[1], f"the unit of the {name} changes with this header", _CURE)
    units = [sheet.units.get("load") for sheet in sheets]
    fields: dict[str, Texts] = {}
    for name in sorted({*(name for sheet in sheets for name in sheet.fields), "unit"}):
        column = pl.concat([_cells(sheet, name) for sheet in sheets])
        if name != "unit" or column.null_count() < column.len():
            fields[name] = Texts.of_strings(column)
    overlong = [
        constant(False, s.row.len(), pl.Boolean()) if s.overlong is None else s.overlong for s in sheets
    ]
    same = {name: unit for sheet in sheets for name, unit in sheet.units.items() if name != "load"}
    return Sheet(
        row=pl.concat([sheet.row for sheet in sheets]),
        part=pl.concat([sheet.part for sheet in sheets]),
        fields=fields,
        layout="numbered columns",
        units=same | ({"load": units[0]} if units[0] and len(set(units)) == 1 else {}),
        headers={key: text for sheet in reversed(sheets) for key, text in sheet.headers.items()},
        overlong=pl.concat(overlong) if any(mask.any() for mask in overlong) else None,
        remarks=(
            *dict.fromkeys(remark for sheet in sheets for remark in sheet.remarks),
            *(f"the header of line {line} names other columns" for line in lines[1:]),
        ),
    )


def _cells(sheet: Sheet, name: str) -> pl.Series:
    """The texts of a field; of `unit`, what the header of the loads says where the rows do not."""
    if name in sheet.fields:
        return sheet.fields[name].cells().cast(pl.String)
    said = sheet.units.get("load") if name == "unit" else None
    return constant(said, sheet.row.len(), pl.String())


def straightened(grid: Grid, head: Head, found: Sequence[Stretch], path: str) -> tuple[Grid, Head]:
    """Grid and head as they are, or, where a later header names other columns, with one order of columns.

    Raises BadExport where a later header cannot be brought under the first one.
    """
    if len(found) < 2:
        return grid, head
    first = int(grid.cells.lines[found[1].start - 1])
    stretches = [stretch for stretch in found if stretch.headings]
    remarks = [f"the header of line {first} names other columns"] if found[1].headings else []
    remarks += [
        f"line {grid.cells.lines[stretch.start - 1]} begins a table without sets"
        for stretch in found
        if not stretch.headings
    ]
    named = {key: h for stretch in reversed(stretches) for key, h in stretch.by_key.items()}
    order = sorted(named, key=lambda key: (key not in stretches[0].by_key, named[key].column, key[0]))
    units = {
        field: {s.units.get(field) for s in stretches if field in {k[0] for k in s.by_key}}
        for field, _ in order
    }
    mixed = {field for field, said in units.items() if len(said) > 1}
    own_unit = any(("unit", None) in s.by_key for s in stretches)
    if mixed - {"load"} or (mixed and own_unit):
        raise BadExport(path, first, f"the unit of the {sorted(mixed)[0]} changes with this header", _CURE)
    if mixed:
        order.append(("unit", None))
        named["unit", None] = Heading(len(order) - 1, "unit", "unit")
    width = len(grid.cells.columns)
    spare = max(width - s.last - 1 for s in stretches)
    tables = [_arranged(grid, stretch, order, spare, said=bool(mixed)) for stretch in stretches]
    if (alike := _dated_alike(tables, order.index(("date", None)))) is not tables:
        tables = alike
        remarks.append("each header has its own order of day and month")
    headings = tuple(replace(named[key], column=i) for i, key in enumerate(order))
    return replace(grid, cells=Records.joined(tables), widths=None), Head(
        rows_at=0,
        headings=headings,
        units={field: unit for field, said in units.items() if len(said) == 1 and (unit := next(iter(said)))},
        last=len(order) - 1,
        remarks=(*head.remarks, *remarks),
    )


def _dated_alike(tables: list[Records], column: int) -> list[Records]:
    """The rows of the stretches, with days from the year on where each has its own order of day and month."""
    dates = [table.columns[column] for table in tables]
    moments = {text: read_moment(text) for some in dates for text in some.written}
    decided = [decide_order(some.written, moments, None) for some in dates]
    if len({found.order for found in decided} - {None}) < 2 or any(f.clash or f.needed for f in decided):
        return tables
    return [
        table.with_columns(column, [_whole(some, moments, found.order)])
        for table, some, found in zip(tables, dates, decided, strict=True)
    ]


def _whole(days: Texts, moments: Mapping[str, Moment], order: str | None) -> Texts:
    """Days from the year on, as the order of their stretch tells them; other texts as they are."""
    return Texts(days.ids, tuple(text and (moments[text].written(order) or text) for text in days.texts))


def _arranged(
    grid: Grid, stretch: Stretch, order: list[tuple[str, str | None]], spare: int, *, said: bool
) -> Records:
    """The rows of one stretch with the columns of `order`, then what stands beyond its last column."""
    cells = grid.cells.between(stretch.start, stretch.end)
    unit = Texts(constant(1, cells.height, pl.UInt32()), (None, stretch.units.get("load")))
    columns = []
    for key in order:
        heading = stretch.by_key.get(key)
        own = unit if said and key == ("unit", None) else Texts.blank(cells.height)
        columns.append(cells.columns[heading.column] if heading else own)
    columns += [cells.column(stretch.last + 1 + i) for i in range(spare)]
    return replace(cells, columns=tuple(columns))


def read_stretches(grid: Grid, head: Head, known: Mapping[str, str]) -> list[Stretch]:
    """The stretches of rows under one header each; one alone if the header never changes."""
    found = [
        Stretch(
            start=head.rows_at,
            end=grid.cells.height,
            headings=head.headings,
            units=head.units,
            last=head.last,
        )
    ]
    main = found[0]
    own = {h.field for h in head.headings if h.unit}
    titled = {field: unit for field, unit in head.units.items() if field not in own}
    for at in _named_lines(grid, head, known):
        (record,) = grid.cells.written(at, at + 1)
        headings = read_headings(record, known)
        filled = [cell for cell in record if cell and cell.strip()]
        more = any(cell and cell.strip() for cell in record[main.last + 1 :])
        again = not more and all((record[h.column] or "").strip() == h.text.strip() for h in main.headings)
        if again:
            following = main
        elif (any(c.isdigit() for cell in filled for c in cell) and len(headings) < 3) or len(filled) < 2:
            continue
        elif not {h.field for h in headings} >= _NEEDED:
            following = replace(main, headings=())
        else:
            following = replace(
                main,
                headings=tuple(headings),
                units=titled | {h.field: h.unit for h in headings if h.unit},
                last=max(i for i, cell in enumerate(record) if cell and cell.strip()),
            )
        if following.headings is found[-1].headings:
            continue
        found[-1] = replace(found[-1], end=at)
        found.append(replace(following, start=at + 1, end=grid.cells.height))
    return found


def _named_lines(grid: Grid, head: Head, known: Mapping[str, str]) -> list[int]:
    """Positions of the rows below the head whose date cell is the name of a column."""
    column = next(h.column for h in head.headings if h.field == "date")
    cells = grid.cells.columns[column].between(head.rows_at, grid.cells.height)
    words = [text for text in cells.written if text.lstrip()[:1].isalpha()]
    names = {text for text in words if read_headings([text], known)}
    found = cells.where(names.__contains__)
    return [] if found is None else [head.rows_at + int(i) for i in found.arg_true()]
