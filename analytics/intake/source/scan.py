"""Scan: cells by PyArrow's reader, taken where every line of the text is one record."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import polars as pl
import pyarrow as pa
from pyarrow import csv as pacsv

from analytics.intake.source.text import ASCII, Text, as_it_is
from analytics.intake.threads import ahead

_WORDS = pa.dictionary(pa.int32(), pa.utf8())


@dataclass(frozen=True, slots=True)
class Shape:
    """How a text is parted: `delimiter`, `width` of its first lines, and the dictionary of its `words`.

    `ragged`: some of them have more cells than others, titles apart.
    """

    delimiter: str
    width: int
    words: pl.DataType
    ragged: bool = False


def scan(text: Text, shape: Shape) -> pl.DataFrame | None:
    """The cells c0, c1, ... of every line; None where a record is not a line, as with breaks in quotes."""
    if not text.utf8:
        return None
    try:
        return _scan(text, shape)
    except (pa.ArrowInvalid, csv.Error):  # csv.Error: a cell longer than its limit
        return None


def _scan(text: Text, shape: Shape) -> pl.DataFrame | None:
    if _open_at_end(text.utf8, shape.delimiter):
        return None
    others: list[tuple[int, str]] = []

    def apart(line: pacsv.InvalidRow) -> str:
        others.append((line.number, line.text))
        return "skip"

    names = [f"c{i}" for i in range(shape.width)]
    found = pacsv.read_csv(
        pa.BufferReader(text.utf8),
        pacsv.ReadOptions(use_threads=False, block_size=len(text.utf8) + 1, column_names=names),
        pacsv.ParseOptions(
            delimiter=shape.delimiter,
            quote_char='"' if b'"' in text.utf8 else False,
            ignore_empty_lines=False,
            invalid_row_handler=apart,
        ),
        pacsv.ConvertOptions(
            check_utf8=False,
            column_types=dict.fromkeys(names, _WORDS),
            null_values=[""],
            strings_can_be_null=True,
            quoted_strings_can_be_null=False,
        ),
    )
    # A line break in quotes joins lines and nothing parts them, so equal numbers mean a record a line.
    if found.num_rows + len(others) != text.lines:
        return None
    cells = pl.DataFrame([_column(name, found[name], shape.words) for name in names])
    return _inserted(cells, others, shape) if others else cells


def scan_portions(portions: Iterable[bytes], shape: Shape) -> tuple[pl.DataFrame, bool] | None:
    """(as `scan`, whether all is ASCII) of portions of whole lines, scanned while the next are read.

    None also where a portion is no plain UTF-8.
    """
    tables, ascii_only = [], True
    for found in ahead(partial(_scan_portion, portion, shape) for portion in portions):
        if found is None:
            return None
        tables.append(found[0])
        ascii_only &= found[1]
    return pl.concat(tables, how="diagonal"), ascii_only


def _scan_portion(portion: bytes, shape: Shape) -> tuple[pl.DataFrame, bool] | None:
    text = as_it_is(portion)
    if text is None or (cells := scan(text, shape)) is None:
        return None
    return cells, text.encoding == ASCII


def _open_at_end(utf8: bytes, delimiter: str) -> bool:
    """Whether the last line ends inside of quotes; its cell would be taken for a whole one."""
    line = utf8[utf8.rfind(b"\n", 0, -1) + 1 :].rstrip(b"\r\n").decode(errors="replace")
    cells = next(csv.reader([line + "\n"], delimiter=delimiter), [])
    return bool(cells) and cells[-1].endswith("\n")


def _column(name: str, column: pa.ChunkedArray, words: pl.DataType) -> pl.Series:
    """One column in the words of the file."""
    parts = [
        pl.Series(name, part.dictionary, dtype=pl.String).cast(words)[
            pl.Series(part.indices.view(pa.uint32()))
        ]
        for part in column.chunks
    ]
    return pl.concat(parts) if parts else pl.Series(name, [], dtype=words)


def in_columns(records: Sequence[Sequence[str]], words: pl.DataType) -> dict[str, pl.Series]:
    """Columns c0, c1, ... in the words of the file, as many as the longest record has cells, one at least."""
    return {
        f"c{i}": pl.Series([r[i] if i < len(r) and r[i] else None for r in records], dtype=pl.String).cast(
            words
        )
        for i in range(max([1, *map(len, records)]))
    }


def _inserted(cells: pl.DataFrame, others: list[tuple[int, str]], shape: Shape) -> pl.DataFrame:
    """The cells with the lines that have more or fewer of them, each at its number, counted from 1."""
    records = list(csv.reader([line for _, line in others], delimiter=shape.delimiter))
    here = np.zeros(cells.height + len(others), dtype=bool)
    here[[number - 1 for number, _ in others]] = True
    place = np.where(here, cells.height + np.cumsum(here) - 1, np.cumsum(~here) - 1)
    return pl.concat([cells, pl.DataFrame(in_columns(records, shape.words))], how="diagonal")[place]
