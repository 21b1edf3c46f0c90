"""Stretches: a table whose header changes further down, put into the columns of one header."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import polars as pl

from analytics.errors import BadExport
from analytics.intake.lookup import distinct
from analytics.intake.sheet.head import Head
from analytics.intake.sheet.header import Heading
from analytics.intake.sheet.headline import read_headings
from analytics.intake.source.grid import Grid, written

_CURE = "Save the lines from there on as a file of their own"
_NEEDED = {"date", "exercise"}


@dataclass(frozen=True, kw_only=True)
class _Stretch:
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


def straightened(grid: Grid, head: Head, known: Mapping[str, str], path: str) -> tuple[Grid, Head]:
    """Grid and head as they are, or, where a later header names other columns, with one order of columns.

    Raises BadExport where a later header cannot be brought under the first one.
    """
    found = _stretches(grid, head, known, path)
    if len(found) < 2:
        return grid, head
    first = int(grid.cells.get_column("row")[found[1].start - 1])
    stretches = [stretch for stretch in found if stretch.headings]
    remarks = [f"the header of line {first} names other columns"] if found[1].headings else []
    remarks += [
        f"line {grid.cells.get_column('row')[stretch.start - 1]} begins a table without sets"
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
    width = len(grid.columns)
    spare = max(width - s.last - 1 for s in stretches)
    frames = [_arranged(grid, stretch, order, spare, said=bool(mixed)) for stretch in stretches]
    headings = tuple(replace(named[key], column=i) for i, key in enumerate(order))
    return replace(grid, cells=pl.concat(frames), widths=None), Head(
        rows_at=0,
        headings=headings,
        units={field: unit for field, said in units.items() if len(said) == 1 and (unit := next(iter(said)))},
        last=len(order) - 1,
        remarks=(*head.remarks, *remarks),
    )


def _arranged(
    grid: Grid, stretch: _Stretch, order: list[tuple[str, str | None]], spare: int, *, said: bool
) -> pl.DataFrame:
    """The rows of one stretch with the columns of `order`, then what stands beyond its last column."""
    words = grid.cells.schema[grid.columns[0]]
    columns = []
    for i, key in enumerate(order):
        heading = stretch.by_key.get(key)
        unit = stretch.units.get("load") if said and key == ("unit", None) else None
        cell = pl.col(f"c{heading.column}") if heading else pl.lit(unit, pl.String).cast(words)
        columns.append(cell.alias(f"c{i}"))
    for i in range(spare):
        name = f"c{stretch.last + 1 + i}"
        cell = pl.col(name) if name in grid.columns else pl.lit(None, words)
        columns.append(cell.alias(f"c{len(order) + i}"))
    return grid.cells.slice(stretch.start, stretch.end - stretch.start).select("row", *columns)


def _stretches(grid: Grid, head: Head, known: Mapping[str, str], path: str) -> list[_Stretch]:
    """The stretches of rows under one header each; one alone if the header never changes."""
    found = [
        _Stretch(
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
        record = written(grid.cells.slice(at, 1), grid.columns)[0]
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
            if any(h.set_number for h in (*main.headings, *headings)):
                line = int(grid.cells.get_column("row")[at])
                raise BadExport(path, line, "the header changes here, and holds several sets a row", _CURE)
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
    cells = grid.cells.get_column(f"c{column}").slice(head.rows_at)
    words = [text for text in distinct(cells) if text.lstrip()[:1].isalpha()]
    names = [text for text in words if read_headings([text], known)]
    if not names:
        return []
    return [head.rows_at + int(i) for i in cells.cast(pl.String).is_in(names).arg_true()]
