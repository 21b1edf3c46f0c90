"""Tables on disk: Parquet for the large, CSV for those a coach opens; one athlete's share of each."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from analytics.pieces import Pieces, write_whole

Table = pl.DataFrame | Pieces

PARQUET = ("sets", "sessions", "lift_history", "trend_lines")
"""Tables written as Parquet; all others are CSV."""

_FORMULA_START = r"^[\s\p{Cf}]*[=+\-@\t\r\n＝＋－＠]|[;\t]\s*[=+@＝＋＠]"
"""First characters that make a spreadsheet run a cell: OWASP, "CSV Injection"."""


def write_tables(tables: Mapping[str, Table], folder: Path) -> list[Path]:
    """Each table as a file in `folder`, named after the table; the paths, in order of name.

    CSV is UTF-8 with comma and quotes as in RFC 4180.  Text that a spreadsheet would run as a formula gets an
    apostrophe in front; numbers stay numbers.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name in sorted(tables):
        path = folder / f"{name}.{'parquet' if name in PARQUET else 'csv'}"
        table = tables[name]
        if name not in PARQUET:
            _write_csv(table, path)
        elif isinstance(table, Pieces):
            table.write(path)
        else:
            write_whole(table.lazy(), path)
        written.append(path)
    return written


def _write_csv(table: Table, path: Path) -> None:
    with path.open("wb") as file:
        for number, frame in enumerate(frames_of(table)):
            guarded(frame).write_csv(file, include_header=number == 0)


def guarded(frame: pl.DataFrame) -> pl.DataFrame:
    """The frame with an apostrophe before every text that a spreadsheet would run as a formula."""
    text = pl.col(pl.String)
    return frame.with_columns(
        pl.when(text.str.contains(_FORMULA_START)).then(pl.lit("'") + text).otherwise(text).name.keep()
    )


@dataclass(frozen=True, kw_only=True)
class Shares:
    """One table by athlete: a `digest` of each athlete's rows, and how to have them."""

    table: Table
    digests: Mapping[str, bytes]
    spans: Mapping[str, tuple[int, int]]
    empty: pl.DataFrame

    def digest(self, athlete: str) -> bytes:
        """Stands for the athlete's rows, their names and types; the same in every process."""
        return self.digests.get(athlete, b"")

    def of(self, athlete: str) -> pl.DataFrame:
        """The athlete's rows, in the table's order; none for an athlete the table does not know."""
        if athlete not in self.digests:
            return self.empty
        if isinstance(self.table, Pieces):
            return self.table.of(athlete)
        return self.table.slice(*self.spans[athlete])


def shares(tables: Mapping[str, Table]) -> dict[str, Shares]:
    """Every table with an athlete column, by name and athlete; rows without an athlete are nobody's.

    What is said about the whole roster stays out: `rank` counts within the athlete, and
    `expected_false_share` is null.  So a change in one athlete's log leaves the other pages as they are.
    """
    return {name: _shares(table) for name, table in tables.items() if "athlete" in table.columns}


def _shares(table: Table) -> Shares:
    digests: dict[str, bytes] = {}
    spans: dict[str, tuple[int, int]] = {}
    empty = pl.DataFrame()
    for frame in frames_of(table):
        own = _of_athletes(frame)
        if isinstance(table, pl.DataFrame):
            table = own
        empty, head, rows = own.clear(), str(own.schema).encode(), row_hashes(own)
        runs = own["athlete"].rle().struct.unnest()
        starts = (runs["len"].cum_sum() - runs["len"]).to_list()
        for start, count, athlete in zip(starts, runs["len"], runs["value"], strict=True):
            if athlete is not None:
                spans[athlete] = (start, count)
                digests[athlete] = hashlib.sha256(head + rows[start : start + count].tobytes()).digest()
    return Shares(table=table, digests=digests, spans=spans, empty=empty)


def _of_athletes(frame: pl.DataFrame) -> pl.DataFrame:
    """The frame in order of athlete, without what is said about the whole roster."""
    if "rank" in frame.columns:
        within = pl.int_range(1, pl.len() + 1).over("athlete").cast(frame["rank"].dtype)
        frame = frame.with_columns(rank=within)
    if "expected_false_share" in frame.columns:
        frame = frame.with_columns(expected_false_share=pl.lit(None, pl.Float64))
    return frame if frame["athlete"].is_sorted() else frame.sort("athlete", maintain_order=True)


def frames_of(table: Table) -> Iterator[pl.DataFrame]:
    """The table in one or more frames, in order."""
    return table.frames() if isinstance(table, Pieces) else iter((table,))


def row_hashes(frame: pl.DataFrame) -> np.ndarray:
    """128 bits for each row: (rows, 2), the same in every process with the same Polars."""
    if frame.is_empty():
        return np.zeros((0, 2), np.uint64)
    return np.stack([frame.hash_rows(seed).to_numpy() for seed in (1, 2)], axis=1)


def arrow_bytes(frame: pl.DataFrame) -> bytes:
    """The frame as an Arrow stream, which is written and read again in no time where rows are few."""
    buffer = io.BytesIO()
    frame.rechunk().write_ipc_stream(buffer)
    return buffer.getvalue()
