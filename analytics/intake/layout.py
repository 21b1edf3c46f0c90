"""Layout: a grid of cells to one table of named text fields, whichever of the four layouts the file has."""

from __future__ import annotations

import re
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import lru_cache

import polars as pl

from analytics.errors import BadExport
from analytics.intake.blocks import read_blocks
from analytics.intake.grid import Grid
from analytics.intake.header import Heading, read_headings
from analytics.intake.loads import parse_unit
from analytics.intake.lookup import Texts
from analytics.intake.numbers import tidy
from analytics.intake.plain import plain
from analytics.intake.sheet import Sheet

LAYOUTS = ("row per set", "row per exercise", "numbered columns", "blocks")
SEARCHED_LINES = 80
_CARRIED = ("date", "athlete", "exercise", "session")
_DONE = ("load", "added", "reps", "seconds", "work", "sets")
_CARRY_SHARE = 0.3
_MANY_ROWS = 100_000
_TOTAL = re.compile(
    r"(?:(?:sub|grand|zwischen)[ -]?)?(?:total(?:s|es|i|e)?|totaux|totaal|sum|summe|gesamt(?:summe)?"
    r"|somme|suma|soma|averages?|mean|durchschnitt|promedio|moyenne|media|gemiddelde?|tonnage)"
    r"(?: (?:of|der|de|du|di|da|the|la|le|het))*"
    r"(?: (?:day|session|workout|week|month|sets?|reps?|volume|weight|load|kg|lbs?|tonnage"
    r"|tag|einheit|training|woche|satze|wdh|volumen|gewicht|dia|sesion|semana|series|volumen"
    r"|jour|seance|semaine|giorno|seduta|settimana|dag))*(?:\s*[:=].*|[\s\d.,]*(?:kg|lbs?)?)"
)
_SET_LABEL = re.compile(r"(?:set|satz|serie|series|s)\s?\d{1,2}|\d{1,2}(?:st|nd|rd|th)?\s?(?:set|satz|serie)")
_UNIT_LINE = re.compile(
    r"(?:all )?(?:units?|weights?|loads?|einheit(?:en)?|gewichte?|pesos?|poids|cargas?|charges?"
    r"|unidad(?:es)?|unites?|eenheid)\s*(?:in|en|are|is|:|=)+\s*(\S+)"
)
_CURE = "Name the columns in its first line, or list its headers in roster.toml under [columns]"


def read_layout(grid: Grid, known: Mapping[str, str], path: str) -> Sheet:
    """The sheet of a grid.  Raises BadExport where no line names the columns."""
    head = [
        [None if cell is None else str(cell) for cell in record]
        for record in grid.cells.head(SEARCHED_LINES).select(pl.col(grid.columns).cast(pl.String)).rows()
    ]
    if grid.cells.height <= SEARCHED_LINES and not any(
        cell and cell.strip() for record in head for cell in record
    ):
        raise BadExport(path, 1, "the file is empty", "Export it again")
    at, headings = _header_row(head, known, path)
    if double := _double_header(head, at, known):
        at, headings = double
    if not {"date", "exercise"} <= {h.field for h in headings}:
        return _blocks(grid, known)
    numbers = sorted({h.set_number for h in headings if h.set_number is not None})
    below = _unit_row(head[at + 1], headings) if at + 1 < len(head) else {}
    unused = [
        cell.strip()[:30]
        for i, cell in enumerate(head[at])
        if cell and cell.strip() and not any(h.column == i for h in headings)
    ]
    at += bool(below)
    row, columns, beyond = _body(grid, at, headings, head[at - bool(below)])
    remarks = _carry_down(columns, headings)
    if unused:
        remarks = (*remarks, f"columns not used: {', '.join(unused[:5])}{' ...' if len(unused) > 5 else ''}")
    units = below | {h.field: h.unit for h in headings if h.unit}
    if "load" not in units and (said := _said_unit(head[:at])):
        units["load"], remarks = said, (*remarks, f"{said} by a line above the header")
    headers = {(h.field, h.set_number): h.text for h in headings}
    shared = {h.field: columns[h.column] for h in headings if h.set_number is None}
    if not numbers:
        part = pl.repeat(0, row.len(), dtype=pl.Int32, eager=True)
        return Sheet(
            row=row,
            part=part,
            fields=shared,
            layout="row per set",
            units=units,
            headers=headers,
            overlong=beyond,
            remarks=remarks,
        )
    fields, row, part, beyond = _stacked(row, columns, shared, headings, numbers, beyond)
    return Sheet(
        row=row,
        part=part,
        fields=fields,
        layout="numbered columns",
        units=units,
        headers=headers,
        overlong=beyond,
        remarks=remarks,
    )


def _header_row(
    head: list[list[str | None]], known: Mapping[str, str], path: str
) -> tuple[int, list[Heading]]:
    best: tuple[int, list[Heading]] = (-1, [])
    for at, record in enumerate(head):
        headings = read_headings(record, known)
        names = {h.field for h in headings}
        if len(names) > len({h.field for h in best[1]}) and _tells_sets(names):
            best = (at, headings)
            if len(names) >= 4:
                break
    if best[0] < 0:
        first = next((cell for record in head for cell in record if cell and cell.strip()), "")
        raise BadExport(
            path, 1, f"no line names the columns of a training log (it begins {first.strip()[:40]!r})", _CURE
        )
    return best


def _double_header(
    head: list[list[str | None]], at: int, known: Mapping[str, str]
) -> tuple[int, list[Heading]] | None:
    """A header of two lines, ``Set 1`` over ``kg`` and ``reps``, as (its last line, headings)."""
    for upper, lower in ((at - 1, at), (at, at + 1)):
        if (
            upper < 0
            or lower >= len(head)
            or sum(bool(_SET_LABEL.fullmatch(plain(tidy(c)))) for c in head[upper]) < 2
        ):
            continue
        label, joined = "", []
        for above, below in zip(head[upper], [*head[lower], *[None] * len(head[upper])], strict=False):
            if above and above.strip():
                label = above.strip() if _SET_LABEL.fullmatch(plain(tidy(above))) else ""
            joined.append(f"{label} {below or ''}" if label else below or above)
        headings = read_headings(joined, known)
        if len({h.set_number for h in headings} - {None}) >= 2:
            return lower, headings
    return None


def _unit_row(record: list[str | None], headings: list[Heading]) -> dict[str, str]:
    """Units by field, if the line below the header holds units and no number."""
    text = [cell or "" for cell in record]
    if any(any(c.isdigit() for c in cell) for cell in text):
        return {}
    found = {
        h.field: unit
        for h in headings
        if h.field in ("load", "added")
        and h.column < len(text)
        and (unit := parse_unit(text[h.column])) in ("kg", "lb")
    }
    return found


def _with_duration(headings: list[Heading], columns: Mapping[int, Texts]) -> list[Heading]:
    """A time column that is filled where reps are not is time under load, no time of day."""
    by = {h.field: columns[h.column].ids > 0 for h in headings if h.set_number is None}
    if "time" not in by or "seconds" in by or not by["time"].any():
        return headings
    both = int((by["time"] & by["reps"]).sum()) if "reps" in by else 0
    if both > 0.1 * int(by["time"].sum()):
        return headings
    return [replace(h, field="seconds") if h.field == "time" else h for h in headings]


def _tells_sets(names: set[str]) -> bool:
    done = names & {"load", "added", "reps", "seconds", "work"}
    return bool(done) and len(names) >= 2


def _body(
    grid: Grid, at: int, headings: list[Heading], header: list[str | None]
) -> tuple[pl.Series, dict[int, Texts], pl.Series | None]:
    """(lines, texts by column, overlong mask) of the rows that may hold sets.

    Left out are blank rows, rows where nothing was done, comments, totals and repeated headers.
    """
    cells = grid.cells.slice(at + 1)
    texts = _read_columns(cells, [f"c{h.column}" for h in headings])
    columns = {h.column: column for h, column in zip(headings, texts, strict=True)}
    headings[:] = _with_duration(headings, columns)
    keep = _any([columns[h.column].ids > 0 for h in headings if h.field in _DONE])
    for h in headings:
        if h.field in ("date", "exercise", "athlete", "set_number", "session"):
            unwanted = columns[h.column].where(is_remark)
            keep = keep if unwanted is None else keep & ~unwanted
    again = [columns[h.column].where(lambda text, h=h: text == h.text.strip()) for h in headings[:3]]  # type: ignore[misc]
    if all(mask is not None for mask in again):
        keep = keep & ~_all([mask for mask in again if mask is not None])
    last = max(h.column for h in headings)
    last = max([last, *(i for i, cell in enumerate(header) if cell and cell.strip())])
    spare = _read_columns(cells, grid.columns[last + 1 :])
    masks = [column.ids > 0 for column in spare if len(column.texts) > 1]
    beyond = _any(masks) if masks else None
    row = cells.get_column("row")
    if keep.all():
        return row, columns, beyond
    return (
        row.filter(keep),
        {i: column.take(keep) for i, column in columns.items()},
        None if beyond is None else beyond.filter(keep),
    )


def _read_columns(cells: pl.DataFrame, names: list[str]) -> list[Texts]:
    """The texts of some columns, side by side where there are many rows."""
    columns = [cells.get_column(name) for name in names]
    if cells.height < _MANY_ROWS:
        return [Texts.of(column) for column in columns]
    with ThreadPoolExecutor(pl.thread_pool_size()) as pool:
        return list(pool.map(Texts.of, columns))


def _said_unit(titles: list[list[str | None]]) -> str | None:
    """The unit that a line above the header declares, such as ``Weights in lb``."""
    for record in titles:
        text = " ".join(cell for cell in record if cell)
        found = _UNIT_LINE.fullmatch(plain(tidy(text[:80])))
        if found and (unit := parse_unit(found[1])) in ("kg", "lb"):
            return unit
    return None


def _any(masks: list[pl.Series]) -> pl.Series:
    result = masks[0]
    for mask in masks[1:]:
        result = result | mask
    return result


def _all(masks: list[pl.Series]) -> pl.Series:
    result = masks[0]
    for mask in masks[1:]:
        result = result & mask
    return result


@lru_cache(maxsize=65536)
def is_remark(text: str) -> bool:
    """Whether a cell opens a total or a comment row."""
    words = plain(tidy(text[:80]))
    comment = words.startswith(("//", "# ", "##")) or (words.startswith("#") and len(words) > 4)
    return comment or bool(_TOTAL.fullmatch(words))


def _carry_down(columns: dict[int, Texts], headings: list[Heading]) -> tuple[str, ...]:
    """Cells written once for a group of rows (as merged cells export) count for the rows below.

    Only where the first row has the cell and at least 30 % of the rows lack it; a rare gap stays a gap.
    """
    remarks = []
    for heading in headings:
        ids = columns[heading.column].ids
        if heading.field not in _CARRIED or not ids.len() or ids[0] == 0:
            continue
        if (ids == 0).mean() >= _CARRY_SHARE:  # type: ignore[operator]
            carried = ids.to_frame("i").select(pl.when(pl.col("i") > 0).then("i").forward_fill()).to_series()
            columns[heading.column] = Texts(carried, columns[heading.column].texts)
            remarks.append(f"{heading.text.strip()!r} carried down to the rows below")
    return tuple(remarks)


def _stacked(
    row: pl.Series,
    columns: Mapping[int, Texts],
    shared: Mapping[str, Texts],
    headings: list[Heading],
    numbers: list[int],
    beyond: pl.Series | None,
) -> tuple[dict[str, Texts], pl.Series, pl.Series, pl.Series | None]:
    """One entry per set out of rows with numbered columns, in order of row and set number."""
    names = sorted({h.field for h in headings if h.set_number is not None})
    height = row.len()
    picks, parts = [], []
    own: dict[str, list[pl.Series]] = {name: [] for name in names}
    texts: dict[str, list[str | None]] = {name: [None] for name in names}
    for number in numbers:
        mine = {h.field: columns[h.column] for h in headings if h.set_number == number}
        some = _any([column.ids > 0 for column in mine.values()])
        pick = some.arg_true()
        picks.append(pick)
        parts.append(pl.repeat(number, pick.len(), dtype=pl.Int32, eager=True))
        for name in names:
            if name in mine:
                own[name].append(mine[name].ids.gather(pick) + _offset(mine[name], texts[name]))
            elif name in shared:
                own[name].append(shared[name].ids.gather(pick) + _offset(shared[name], texts[name]))
            else:
                own[name].append(pl.repeat(0, pick.len(), dtype=pl.UInt32, eager=True))
    order = pl.DataFrame({"pick": pl.concat(picks).cast(pl.Int64), "part": pl.concat(parts)})
    order = order.with_row_index("i").sort("pick", "part", maintain_order=True)
    pick, place = order.get_column("pick"), order.get_column("i")
    fields = {name: column.take(pick) for name, column in shared.items() if name not in names}
    for name in names:
        fields[name] = _merged(Texts(pl.concat(own[name]).gather(place), tuple(texts[name])))
    del height
    return fields, row.gather(pick), order.get_column("part"), None if beyond is None else beyond.gather(pick)


def _offset(column: Texts, texts: list[str | None]) -> int:
    offset = len(texts)
    texts.extend(column.texts)
    return offset


def _merged(column: Texts) -> Texts:
    """The same texts with equal ones under one number and the empty one under 0."""
    ordered = sorted({text for text in column.texts if text is not None})
    number = {text: i + 1 for i, text in enumerate(ordered)}
    table = pl.Series([number[text] if text is not None else 0 for text in column.texts], dtype=pl.UInt32)
    return Texts(table.gather(column.ids), (None, *ordered))


def _blocks(grid: Grid, known: Mapping[str, str]) -> Sheet:
    """The sheet of a file whose header lacks the date or the exercise, which then stand in heading lines."""
    texts = grid.cells.select(pl.col(grid.columns).cast(pl.String)).rows()
    records = list(zip(grid.cells.get_column("row").to_list(), texts, strict=True))
    rows, headings = read_blocks(records, known, is_remark)
    rows = [row for row in rows if any(row.get(name) for name in _DONE)]
    names = sorted({name for row in rows for name in row} - {"row"})
    words = grid.cells.schema[grid.columns[0]]
    columns = {
        name: pl.Series([row.get(name) for row in rows], dtype=pl.String).cast(words) for name in names
    }
    return Sheet(
        row=pl.Series([row["row"] for row in rows], dtype=pl.Int32),
        part=pl.repeat(0, len(rows), dtype=pl.Int32, eager=True),
        fields={name: Texts.of(column) for name, column in columns.items()},
        layout="blocks",
        units={h.field: h.unit for h in reversed(headings) if h.unit},
        headers={(h.field, None): h.text for h in reversed(headings)},
    )
