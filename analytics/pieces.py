"""Pieces: a large table in several files, each with whole athletes, in order of athlete."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import polars as pl

_ROWS_PER_GROUP = 20_000


@dataclass(frozen=True, kw_only=True)
class Pieces:
    """Parquet `files` that one after another are the table; no athlete is in two of them."""

    files: tuple[Path, ...]

    def frames(self) -> Iterator[pl.DataFrame]:
        """The pieces in memory, one at a time."""
        return (pl.read_parquet(file) for file in self.files)

    @property
    def columns(self) -> list[str]:
        """Names of its columns."""
        return list(pl.read_parquet_schema(self.files[0]))

    def of(self, athlete: str) -> pl.DataFrame:
        """The athlete's rows."""
        own = pl.col("athlete") == athlete
        return pl.scan_parquet(list(self.files)).filter(own).collect()

    def write(self, path: Path) -> None:
        """The whole table as one Parquet file, without holding it in memory."""
        write_whole(pl.scan_parquet(list(self.files)), path)


def write_whole(table: pl.LazyFrame, path: Path) -> None:
    """One Parquet file, the same whether the table comes in pieces or lies in memory."""
    table.sink_parquet(path, row_group_size=_ROWS_PER_GROUP, statistics=True)


def write_piece(frame: pl.DataFrame, path: Path | IO[bytes]) -> None:
    """One piece, light to write and to read again."""
    frame.write_parquet(path, compression="lz4", row_group_size=_ROWS_PER_GROUP, statistics=True)
