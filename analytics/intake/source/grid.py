"""Grid: the cells of one text, one row per record, each with the true line it starts on."""

from __future__ import annotations

import codecs
import csv
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from io import SEEK_END
from itertools import chain
from typing import BinaryIO

import polars as pl

from analytics.errors import BadExport
from analytics.intake.source.delimiter import DELIMITERS, find_delimiter, widths
from analytics.intake.source.records import Records
from analytics.intake.source.scan import Shape, scan, scan_portions
from analytics.intake.source.text import ASCII, UTF_8, UTF_8_WITH_MARK, Text, decode, looks_binary

MOST_COLUMNS = 500
_TOO_WIDE = (f"a line has more than {MOST_COLUMNS} columns", "Export one table, one row per set")
LARGE = 4_000_000
"""A file of more bytes is parsed while it is read."""
_PORTION = 1 << 22
_HEAD = 200_000
_LONGEST_CELL = 200_000
_LINES_LOOKED_AT = 200
_MOST_LINES_IN_A_CELL = 40
_TAIL, _FEWEST_LINES = 4000, 5
TITLE_CELLS = 2
"""Cells that a line above a table may have."""


@dataclass(frozen=True, kw_only=True)
class Grid:
    """`cells`: its records, each distinct text of a column kept once, so that it is read once.

    `widths` says how many cells each record has, in a file parted by commas where some have more than others:
    a comma may be a decimal mark there that nobody put in quotes.  `cut` is the line in which the file breaks
    off.
    """

    cells: Records
    delimiter: str
    encoding: str
    widths: pl.Series | None = None
    cut: int | None = None


def read_file(file: BinaryIO, path: str) -> Grid:
    """The grid of an open file.  Raises BadExport where it is no text table."""
    if file.seek(0, SEEK_END) > LARGE:
        file.seek(0)
        if grid := _flow(file):
            return grid
    file.seek(0)
    return read_grid(decode(file.read(), path), path)


def read_grid(text: Text, path: str) -> Grid:
    """All records of a text: delimiter found, RFC 4180 quoting, blank records kept as empty rows.

    The quick way is `scan`, taken where every line is a record, so that line numbers are true.  Quoted line
    breaks and quotes left open go through the csv module.
    """
    shape = _shape(text.utf8)
    if shape.width > MOST_COLUMNS:
        raise BadExport(path, 1, *_TOO_WIDE)
    cells = scan(text, shape)
    if cells is None:
        records = _careful(text, shape.delimiter, path)
        lines, texts = [number for number, _ in records], [record for _, record in records]
        cells = Records.listed(lines, texts)
        counts = [len(record) for record in texts]
    else:
        counts = widths(text.utf8.decode(), ",") if _may_shift(cells, shape) else []
    return Grid(
        cells=cells,
        delimiter=DELIMITERS[shape.delimiter],
        encoding=text.encoding,
        widths=pl.Series(counts, dtype=pl.Int32) if shape.delimiter == "," and counts else None,
        cut=_cut(text.utf8[-_TAIL:], shape.delimiter, cells),
    )


def _cut(tail: bytes, delimiter: str, cells: Records) -> int | None:
    """The last line, if it lacks its end and cells that the lines before it in the `tail` have; else None."""
    lines = tail.split(b"\n")
    if not lines[-1].strip() or b'"' in tail:
        return None
    marks = [line.count(delimiter.encode()) for line in lines[1:] if line.strip()][-_FEWEST_LINES:]
    if len(marks) < _FEWEST_LINES or len(set(marks[:-1])) != 1 or marks[-1] >= marks[0]:
        return None
    return int(cells.lines[-1])


def _may_shift(cells: Records, shape: Shape) -> bool:
    """Whether some records of a text parted by commas have more cells than others."""
    return shape.ragged or (shape.delimiter == "," and len(cells.columns) > shape.width)


def _flow(file: BinaryIO) -> Grid | None:
    """The grid of a large file of plain UTF-8, parsed while it is read; None for any other file."""
    marked = file.read(len(codecs.BOM_UTF8)) == codecs.BOM_UTF8
    if not marked:
        file.seek(0)
    portions = _portions(file)
    first = next(portions, b"")
    if looks_binary(first) or len(first) < _HEAD:
        return None
    shape = _shape(first)
    found = None if shape.width > MOST_COLUMNS else scan_portions(chain([first], portions), shape)
    if found is None or _may_shift(found[0], shape):
        return None
    cells = found[0]
    file.seek(-min(_TAIL, file.seek(0, SEEK_END)), SEEK_END)
    return Grid(
        cells=cells,
        delimiter=DELIMITERS[shape.delimiter],
        encoding=UTF_8_WITH_MARK if marked else ASCII if found[1] else UTF_8,
        cut=_cut(file.read(), shape.delimiter, cells),
    )


def _portions(file: BinaryIO) -> Iterator[bytes]:
    """The bytes of a file from where it stands, in portions of whole lines."""
    start = file.tell()
    while True:
        file.seek(start + _PORTION)
        file.readline()
        end = file.tell()
        file.seek(start)
        portion = file.read(end - start)
        if not portion:
            return
        yield portion
        start = end


def _shape(utf8: bytes) -> Shape:
    """How a text is parted, by its first lines."""
    head = utf8[:_HEAD].decode("utf-8", errors="ignore")
    delimiter = find_delimiter(head)
    counts = widths(head, delimiter) or [1]
    ragged = delimiter == "," and max(counts) > min((n for n in set(counts) if n > TITLE_CELLS), default=0)
    return Shape(delimiter, max(counts), ragged)


def _careful(text: Text, delimiter: str, path: str) -> list[tuple[int, list[str]]]:
    """(first line, cells) of each record by the csv module."""
    source = text.utf8.decode("utf-8", errors="replace").replace("\r\n", "\n")
    records = _records(source, delimiter, path, quoting=True)
    if records is None:
        records = _records(source, delimiter, path, quoting=False)
    assert records is not None
    for line, cells in records:
        if len(cells) > MOST_COLUMNS:
            raise BadExport(path, line, *_TOO_WIDE)
    return records


def _records(source: str, delimiter: str, path: str, *, quoting: bool) -> list[tuple[int, list[str]]] | None:
    """(first line, cells) of each record; None where quotes swallow so much that they cannot be quoting."""
    records: list[tuple[int, list[str]]] = []
    csv.field_size_limit(_LONGEST_CELL)
    lines = list(_lines(source))
    usual = Counter(line.count(delimiter) for line in lines[:_LINES_LOOKED_AT]).most_common(1)
    marks = usual[0][0] if usual else 0
    reader = csv.reader(lines, delimiter=delimiter, quoting=csv.QUOTE_MINIMAL if quoting else csv.QUOTE_NONE)
    before = 0
    try:
        for cells in reader:
            span = lines[before : reader.line_num]
            if len(span) > _MOST_LINES_IN_A_CELL:
                return None
            if len(span) > 1 and _swallowed(span, delimiter, marks):
                records += [(before + 1 + i, _alone(line, delimiter)) for i, line in enumerate(span)]
            else:
                records.append((before + 1, cells))
            before = reader.line_num
    except csv.Error as problem:
        if quoting:
            return None
        raise BadExport(
            path,
            before + 1,
            f"a cell is longer than {_LONGEST_CELL} characters ({problem})",
            "Export one table as CSV",
        ) from problem
    return records


def _swallowed(span: list[str], delimiter: str, marks: int) -> bool:
    """Whether a quote that was never closed has taken whole rows into its cell.

    It ends with the file still open, or one of its later lines is as full as a line of the file usually is.
    """
    if sum(line.count('"') for line in span) % 2:
        return True
    return marks > 0 and any(line.count(delimiter) >= marks for line in span[1:])


def _alone(line: str, delimiter: str) -> list[str]:
    """The cells of one line by itself; a quote without its partner is a sign like any other."""
    odd = line.count('"') % 2
    reader = csv.reader([line], delimiter=delimiter, quoting=csv.QUOTE_NONE if odd else csv.QUOTE_MINIMAL)
    return next(reader, [])


def _lines(source: str) -> Iterator[str]:
    lines = source.split("\n")
    if not lines[-1]:
        lines.pop()
    for line in lines:
        yield line + "\n"
