"""Layout: a grid of cells to one table of named text fields, whichever of the four layouts the file has."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

import polars as pl

from analytics.errors import BadExport
from analytics.intake.blocks import read_blocks
from analytics.intake.grid import Grid
from analytics.intake.header import Heading, read_headings
from analytics.intake.numbers import tidy
from analytics.intake.plain import plain

LAYOUTS = ("row per set", "row per exercise", "numbered columns", "blocks")
SEARCHED_LINES = 80
_CARRIED = ("date", "time", "athlete", "exercise", "session", "superset")
_CARRY_SHARE = 0.3
_TOTAL = re.compile(
    r"(?:sub ?|grand ?)?total[es]?\b|sum\b|summe\b|gesamt|somme\b|totale?n?\b|totaal\b|suma\b|soma\b|average\b|mean\b"
    r"|durchschnitt|promedio|moyenne|media\b|gemiddeld|tonnage\b|volume\b|volumen\b|zwischensumme"
)
_CURE = "Name the columns in its first line, or list its headers in roster.toml under [columns]"


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """`fields`: `row` (line in the file), `part` (set number within the row) and one text column per field.

    `units`: unit written in a field's header.  `headers`: header text of each field, by field and part.
    """

    fields: pl.DataFrame
    layout: str
    units: Mapping[str, str] = field(default_factory=dict)
    headers: Mapping[tuple[str, int | None], str] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()


def read_layout(grid: Grid, known: Mapping[str, str], path: str) -> Sheet:
    """The sheet of a grid.  Raises BadExport where no line names the columns."""
    head = [
        [None if cell is None else str(cell) for cell in record]
        for record in grid.cells.head(SEARCHED_LINES)
        .select(grid.columns)
        .with_columns(pl.all().cast(pl.String))
        .rows()
    ]
    if (
        not any(cell and cell.strip() for record in head for cell in record)
        and grid.cells.height <= SEARCHED_LINES
    ):
        raise BadExport(path, 1, "the file is empty", "Export it again")
    at, headings = _header_row(head, known, path)
    if not {"date", "exercise"} <= {h.field for h in headings}:
        return _blocks(grid, known)
    body = _body(grid, at, headings)
    numbers = sorted({h.set_number for h in headings if h.set_number is not None})
    layout = "numbered columns" if numbers else "row per set"
    shared = [h for h in headings if h.set_number is None]
    body, remarks = _carried_down(body, shared)
    base = [pl.col("row"), *(pl.col(f"c{h.column}").alias(h.field) for h in shared)]
    if numbers:
        parts = []
        for number in numbers:
            own = [h for h in headings if h.set_number == number]
            part = body.select(
                *base,
                pl.lit(number, pl.Int32).alias("part"),
                *(pl.col(f"c{h.column}").alias(h.field) for h in own),
            )
            parts.append(part.filter(pl.any_horizontal(filled(h.field) for h in own)))
        fields = pl.concat(parts, how="diagonal")
    else:
        fields = body.select(*base, pl.lit(0, pl.Int32).alias("part"))
    return Sheet(
        fields=fields,
        layout=layout,
        units={h.field: h.unit for h in headings if h.unit},
        headers={(h.field, h.set_number): h.text for h in headings},
        remarks=remarks,
    )


def _blocks(grid: Grid, known: Mapping[str, str]) -> Sheet:
    """The sheet of a file whose header lacks the date or the exercise, which then stand in heading lines."""
    texts = grid.cells.select(pl.col(grid.columns).cast(pl.String)).rows()
    records = list(zip(grid.cells.get_column("row").to_list(), texts, strict=True))
    firsts = {
        cell.strip() for _, record in records if (cell := next((c for c in record if c and c.strip()), None))
    }
    rows, headings = read_blocks(records, known, {text: _is_total_or_comment(text) for text in firsts})
    names = sorted({name for row in rows for name in row} - {"row"})
    words = grid.cells.schema[grid.columns[0]]
    fields = pl.DataFrame(
        {
            "row": pl.Series([row["row"] for row in rows], dtype=pl.Int32),
            **{
                name: pl.Series([row.get(name) for row in rows], dtype=pl.String).cast(words)
                for name in names
            },
        }
    ).with_columns(pl.lit(0, pl.Int32).alias("part"))
    return Sheet(
        fields=fields,
        layout="blocks",
        units={h.field: h.unit for h in reversed(headings) if h.unit},
        headers={(h.field, None): h.text for h in reversed(headings)},
    )


def filled(column: str) -> pl.Expr:
    """Whether the cell holds anything but blanks."""
    return pl.col(column).is_not_null() & (pl.col(column).cast(pl.String).str.strip_chars() != "")


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
            path, 1, f"no line names the columns of a training log (it begins {first[:40]!r})", _CURE
        )
    return best


def _tells_sets(names: set[str]) -> bool:
    done = names & {"load", "added", "reps", "seconds", "work"}
    return bool(done) and len(names) >= 2


def _body(grid: Grid, at: int, headings: list[Heading]) -> pl.DataFrame:
    """The records below the header that may hold sets: no blank, comment, total or repeated header rows."""
    body = grid.cells.slice(at + 1)
    columns = [f"c{h.column}" for h in headings]
    first = headings[0]
    seconds = headings[1] if len(headings) > 1 else first
    repeated = (pl.col(f"c{first.column}").cast(pl.String).str.strip_chars() == first.text.strip()) & (
        pl.col(f"c{seconds.column}").cast(pl.String).str.strip_chars() == seconds.text.strip()
    )
    some = pl.any_horizontal(pl.col(column).is_not_null() for column in columns)
    body = body.filter(some & ~repeated.fill_null(False))
    blank = pl.all_horizontal(~filled(column) for column in columns)
    names = [h for h in headings if h.field in ("date", "exercise", "athlete", "set_number", "session")]
    unwanted = [_distinct_rows(body, f"c{h.column}", _is_total_or_comment) for h in names]
    if body.height:
        body = body.filter(~blank)
        for column, texts in zip([f"c{h.column}" for h in names], unwanted, strict=True):
            if texts:
                body = body.filter(~pl.col(column).cast(pl.String).is_in(texts).fill_null(False))
    return body


def _distinct_rows(body: pl.DataFrame, column: str, test: object) -> list[str]:
    texts = body.get_column(column).unique().drop_nulls().cast(pl.String).to_list()
    return [text for text in texts if _is_total_or_comment(text)]


def _is_total_or_comment(text: str) -> bool:
    words = plain(tidy(text))
    return bool(
        words.startswith(("# ", "//", "##"))
        or words.startswith("#")
        and len(words) > 4
        or _TOTAL.match(words)
    )


def _carried_down(body: pl.DataFrame, headings: list[Heading]) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """Cells written once for a group of rows (as merged cells export) count for the rows below.

    Only where the first row has the cell and at least 30 % of the rows lack it; a rare gap stays a gap.
    """
    remarks = []
    for heading in headings:
        if heading.field not in _CARRIED or not body.height:
            continue
        column = f"c{heading.column}"
        has = body.select(filled(column).alias("has")).get_column("has")
        if has[0] and (1 - (has.mean() or 0)) >= _CARRY_SHARE and heading.field != "superset":
            body = body.with_columns(pl.when(filled(column)).then(pl.col(column)).forward_fill())
            remarks.append(f"{heading.text.strip()!r} carried down to the rows below")
    return body, tuple(remarks)
