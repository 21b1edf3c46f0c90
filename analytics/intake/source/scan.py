"""Scan: cells by Polars' reader, taken where its records are lines of the text and quotes are plain."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial

import polars as pl

from analytics.intake.source.octets import quotes_at_ends
from analytics.intake.source.text import ASCII, Text, as_it_is
from analytics.intake.threads import ahead

_SPARE = 2


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
    """The cells c0, c1, ... of every line; None where line numbers or quotes need a closer look."""
    quoted = b'"' in text.utf8
    if not text.utf8 or (quoted and _odd_quotes(text.utf8, shape.delimiter)):
        return None
    # Columns without cells take time, so they are offered only where a line is longer than the first ones.
    for spare in (0, _SPARE):
        table = pl.scan_csv(
            text.utf8,
            separator=shape.delimiter,
            has_header=False,
            schema={f"c{i}": shape.words for i in range(shape.width + spare)},
            quote_char='"' if quoted else None,
            truncate_ragged_lines=False,
            missing_columns="insert",
        )
        try:
            cells = table.collect(engine="in-memory")
        except (pl.exceptions.PolarsError, OSError):  # OSError: the first bytes look compressed
            continue
        return cells if cells.height == text.lines else None
    return None


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


def _odd_quotes(utf8: bytes, delimiter: str) -> bool:
    """Whether a quote stands elsewhere than at the two ends of a cell or doubled inside one.

    Where quotes do not just open and close cells, the lines that have some are looked at one by one.
    """
    if quotes_at_ends(utf8, delimiter):
        return False
    mark = re.escape(delimiter.encode())
    cell = rb'(?:"(?:[^"]+|"")*+"|[^"' + mark + rb"]*+)"
    sound = re.compile(cell + rb"(?:" + mark + cell + rb")*+\r?")
    return not all(sound.fullmatch(line) for line in utf8.split(b"\n") if b'"' in line)
