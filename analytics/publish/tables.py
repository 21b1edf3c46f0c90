"""Tables on disk: Parquet for the large, CSV for those a coach opens; one athlete's share of each."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import polars as pl

PARQUET = ("sets", "sessions", "lift_history", "trend_lines")
"""Tables written as Parquet; all others are CSV."""

_FORMULA_START = r"^[\s\p{Cf}]*[=+\-@\t\r\n＝＋－＠]|[;\t]\s*[=+@＝＋＠]"
"""First characters that make a spreadsheet run a cell: OWASP, "CSV Injection"."""


def write_tables(tables: Mapping[str, pl.DataFrame], folder: Path) -> list[Path]:
    """Each table as a file in `folder`, named after the table; the paths, in order of name.

    CSV is UTF-8 with comma and quotes as in RFC 4180.  Text that a spreadsheet would run as a formula gets an
    apostrophe in front; numbers stay numbers.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name in sorted(tables):
        path = folder / f"{name}.{'parquet' if name in PARQUET else 'csv'}"
        if name in PARQUET:
            tables[name].write_parquet(path)
        else:
            guarded(tables[name]).write_csv(path)
        written.append(path)
    return written


def guarded(frame: pl.DataFrame) -> pl.DataFrame:
    """The frame with an apostrophe before every text that a spreadsheet would run as a formula."""
    text = pl.col(pl.String)
    return frame.with_columns(
        pl.when(text.str.contains(_FORMULA_START)).then(pl.lit("'") + text).otherwise(text).name.keep()
    )


@dataclass(frozen=True)
class Shares:
    """One table by athlete: `frame` sorted by athlete, and the first row and number of rows of each."""

    frame: pl.DataFrame
    spans: Mapping[str, tuple[int, int]]

    def of(self, athlete: str) -> pl.DataFrame:
        """The athlete's rows, in the table's order; none for an athlete the table does not know."""
        return self.frame.slice(*self.spans.get(athlete, (0, 0)))


def shares(tables: Mapping[str, pl.DataFrame]) -> dict[str, Shares]:
    """Every table with an athlete column, by name and athlete; rows without an athlete are nobody's.

    What is said about the whole roster stays out: `rank` counts within the athlete, and
    `expected_false_share` is null.  So a change in one athlete's log leaves the other pages as they are.
    """
    split: dict[str, Shares] = {}
    for name, frame in tables.items():
        if "athlete" not in frame.columns:
            continue
        if "rank" in frame.columns:
            within = pl.int_range(1, pl.len() + 1).over("athlete").cast(frame["rank"].dtype)
            frame = frame.with_columns(rank=within)
        if "expected_false_share" in frame.columns:
            frame = frame.with_columns(expected_false_share=pl.lit(None, pl.Float64))
        frame = frame.sort("athlete", maintain_order=True)
        runs = (
            frame["athlete"].rle().struct.unnest().with_columns(start=pl.col("len").cum_sum() - pl.col("len"))
        )
        spans = {athlete: (start, count) for count, athlete, start in runs.iter_rows() if athlete is not None}
        split[name] = Shares(frame, spans)
    return split


def parquet_bytes(frame: pl.DataFrame) -> bytes:
    """The frame as the bytes of a Parquet file."""
    buffer = io.BytesIO()
    frame.write_parquet(buffer, compression="uncompressed", statistics=False)
    return buffer.getvalue()
