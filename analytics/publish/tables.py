"""Tables on disk: Parquet for the large, CSV for those a coach opens; one athlete's share of each."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path

import polars as pl

PARQUET = ("sets", "sessions", "lift_history", "trend_lines")
"""Tables written as Parquet; all others are CSV."""

_FORMULA_START = r"^[=+\-@\t\r\n＝＋－＠]"
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


def shares(tables: Mapping[str, pl.DataFrame]) -> dict[str, dict[str, pl.DataFrame]]:
    """Table name to athlete to that athlete's rows, of every table with an athlete column.

    What is said about the whole roster stays out: `rank` counts within the athlete, and
    `expected_false_share` is null.  So a change in one athlete's log leaves the other pages as they are.
    """
    split: dict[str, dict[str, pl.DataFrame]] = {}
    for name, frame in tables.items():
        if "athlete" not in frame.columns:
            continue
        if "rank" in frame.columns:
            within = pl.int_range(1, pl.len() + 1).over("athlete").cast(frame["rank"].dtype)
            frame = frame.with_columns(rank=within)
        if "expected_false_share" in frame.columns:
            frame = frame.with_columns(expected_false_share=pl.lit(None, pl.Float64))
        parts = frame.partition_by("athlete", as_dict=True, maintain_order=True)
        split[name] = {str(key[0]): part for key, part in parts.items() if key[0] is not None}
    return split


def parquet_bytes(frame: pl.DataFrame) -> bytes:
    """The frame as the bytes of a Parquet file."""
    buffer = io.BytesIO()
    frame.write_parquet(buffer, compression="uncompressed", statistics=False)
    return buffer.getvalue()
