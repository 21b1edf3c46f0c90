"""Shelf: all tables of a run as sorted Parquet files, from which one athlete's rows come in milliseconds."""

from __future__ import annotations

import functools
from pathlib import Path

import polars as pl

from analytics.charts import Report
from analytics.week import Tables

_ROWS_PER_GROUP = 20_000


def put(tables: Tables, folder: Path) -> None:
    """Write every table that tells athletes apart, sorted by athlete, in small row groups."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, frame in tables.items():
        if "athlete" in frame.columns:
            in_order = frame.sort("athlete", maintain_order=True)
            in_order.write_parquet(
                folder / f"{name}.parquet", row_group_size=_ROWS_PER_GROUP, statistics=True
            )


def athletes(folder: Path) -> list[tuple[str, str]]:
    """Name and id of every athlete, in order of name."""
    people = pl.read_parquet(folder / "athlete.parquet").select("name", "athlete").sort("name", "athlete")
    return [(name, athlete) for name, athlete in people.rows()]


@functools.lru_cache(maxsize=8)
def report(folder: Path, athlete: str) -> Report:
    """One athlete's tables."""
    own = pl.col("athlete") == athlete
    files = sorted(folder.glob("*.parquet"))
    return Report.of({file.stem: pl.scan_parquet(file).filter(own).collect() for file in files})
