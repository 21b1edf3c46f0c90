"""Scan: cells by PyArrow's reader, taken where every line of the text is one record."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from itertools import chain

import numpy as np
import polars as pl
import pyarrow as pa
from pyarrow import csv as pacsv

from analytics.intake.lookup import Texts
from analytics.intake.source.records import Records
from analytics.intake.source.text import ASCII, Text, as_it_is
from analytics.intake.threads import ahead, side_by_side

_WORDS = pa.dictionary(pa.int32(), pa.utf8())
_Part = tuple[np.ndarray, list[str]]
"""Cells of one column: for each the number of its text, and the texts, each of which stands in some cell."""


@dataclass(frozen=True, slots=True)
class Shape:
    """How a text is parted: `delimiter`, and the `width` of its first lines.

    `ragged`: some of them have more cells than others, titles apart.
    """

    delimiter: str
    width: int
    ragged: bool = False


def scan(text: Text, shape: Shape) -> Records | None:
    """The cells of every line; None where a record is not a line, as with breaks in quotes."""
    columns = _parts(text, shape)
    return None if columns is None else _records([columns])


def scan_portions(portions: Iterable[bytes], shape: Shape) -> tuple[Records, bool] | None:
    """(as `scan`, whether all is ASCII) of portions of whole lines, scanned while the next are read.

    None also where a portion is no plain UTF-8.
    """
    tables, ascii_only = [], True
    for found in ahead(partial(_scan_portion, portion, shape) for portion in portions):
        if found is None:
            return None
        tables.append(found[0])
        ascii_only &= found[1]
    return _records(tables), ascii_only


def _scan_portion(portion: bytes, shape: Shape) -> tuple[list[_Part], bool] | None:
    text = as_it_is(portion)
    if text is None or (columns := _parts(text, shape)) is None:
        return None
    return columns, text.encoding == ASCII


def _records(tables: list[list[_Part]]) -> Records:
    """The records of tables below one another, each line one record."""
    heights = [len(columns[0][0]) for columns in tables]
    width = max(map(len, tables))

    def column(number: int) -> Texts:
        parts = [
            columns[number] if number < len(columns) else (np.zeros(height, dtype=np.int32), [""])
            for columns, height in zip(tables, heights, strict=True)
        ]
        return Texts.joined(parts)

    height = sum(heights)
    columns = side_by_side([partial(column, number) for number in range(width)], height)
    return Records(pl.int_range(1, height + 1, dtype=pl.Int32, eager=True), tuple(columns))


def _parts(text: Text, shape: Shape) -> list[_Part] | None:
    if not text.utf8:
        return None
    try:
        return _read(text, shape)
    except (pa.ArrowInvalid, csv.Error):  # csv.Error: a cell longer than its limit
        return None


def _read(text: Text, shape: Shape) -> list[_Part] | None:
    if _open_at_end(text.utf8, shape.delimiter):
        return None
    others: list[tuple[int, str]] = []

    def apart(line: pacsv.InvalidRow) -> str:
        others.append((line.number, line.text))
        return "skip"

    names = [str(i) for i in range(shape.width)]
    found = pacsv.read_csv(
        pa.BufferReader(text.utf8),
        pacsv.ReadOptions(use_threads=False, block_size=len(text.utf8) + 1, column_names=names),
        pacsv.ParseOptions(
            delimiter=shape.delimiter,
            quote_char='"' if b'"' in text.utf8 else False,
            ignore_empty_lines=False,
            invalid_row_handler=apart,
        ),
        pacsv.ConvertOptions(check_utf8=False, column_types=dict.fromkeys(names, _WORDS), null_values=[]),
    )
    columns = [_part(column) for column in found.columns]
    texts = chain((line for _, line in others), *(texts for _, texts in columns))
    if any("\n" in text for text in texts):
        return None
    return _inserted(columns, others, shape) if others else columns


def _open_at_end(utf8: bytes, delimiter: str) -> bool:
    """Whether the last line ends inside of quotes; its cell would be taken for a whole one."""
    line = utf8[utf8.rfind(b"\n", 0, -1) + 1 :].rstrip(b"\r\n").decode(errors="replace")
    cells = next(csv.reader([line + "\n"], delimiter=delimiter), [])
    return bool(cells) and cells[-1].endswith("\n")


def _part(column: pa.ChunkedArray) -> _Part:
    """A column that was read in one block, without `to_numpy`, which loads pandas."""
    if not len(column):
        return np.empty(0, dtype=np.int32), []
    (block,) = column.chunks
    return np.frombuffer(block.indices.buffers()[1], np.int32, len(block)), block.dictionary.to_pylist()


def _inserted(columns: list[_Part], others: list[tuple[int, str]], shape: Shape) -> list[_Part]:
    """The columns with the lines that have more or fewer cells, each at its number, counted from 1."""
    records = list(csv.reader([line for _, line in others], delimiter=shape.delimiter))
    height = len(columns[0][0])
    here = np.zeros(height + len(others), dtype=bool)
    here[[number - 1 for number, _ in others]] = True
    place = np.where(here, height + np.cumsum(here) - 1, np.cumsum(~here) - 1)
    columns = columns + [(np.zeros(height, dtype=np.int32), [""])] * (max(map(len, records)) - len(columns))
    more = [[record[i] if i < len(record) else "" for record in records] for i in range(len(columns))]
    return [
        (np.concatenate([numbers, len(texts) + np.arange(len(cells))])[place], texts + cells)
        for (numbers, texts), cells in zip(columns, more, strict=True)
    ]
