"""Pieces: a large table in several files, each with whole athletes, in order of athlete."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

import polars as pl
import pyarrow as pa
import pyarrow.parquet as pq

from analytics.schema import Table

_ROWS_PER_GROUP = 20_000
_ROWS_PER_BATCH = 65_536


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


def write_parts(parts: Iterable[pl.DataFrame], table: Table, path: Path) -> None:
    """Parts of one table, their texts as Enum, as one Parquet file; a row group each, texts as strings.

    The numbers of an Enum become the file's own dictionary as they are, so no text is looked at again; whole
    numbers are written as differences.  Columns that are never empty are written without levels.
    """
    texts, numbers, whole = (
        [column.name for column in table.columns if column.dtype in kinds]
        for kinds in ((pl.String,), (pl.Float64,), (pl.Int32, pl.Date))
    )
    coded = pa.dictionary(pa.int32(), pa.large_string())
    plain = table.empty().to_arrow().schema
    schema = pa.schema(
        [
            pa.field(c.name, coded if c.name in texts else plain.field(c.name).type, c.nullable)
            for c in table.columns
        ]
    )
    with pq.ParquetWriter(
        path,
        schema,
        compression="snappy",
        use_dictionary=texts + numbers,
        column_encoding=dict.fromkeys(whole, "DELTA_BINARY_PACKED"),
        write_statistics=["athlete", "date"],
        write_batch_size=_ROWS_PER_BATCH,
        store_schema=False,
    ) as file:
        for part in parts:
            file.write_table(part.to_arrow().cast(schema))
