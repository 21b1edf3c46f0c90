"""Shelf: all tables of a run as sorted Parquet files, from which one athlete's rows come in milliseconds."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from pathlib import Path

import polars as pl

from analytics.charts import Report
from analytics.pieces import Pieces, write_whole


def put(tables: Mapping[str, pl.DataFrame | Pieces], folder: Path) -> None:
    """Write every table that tells athletes apart, sorted by athlete, in small row groups."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, table in tables.items():
        path = folder / f"{name}.parquet"
        if isinstance(table, Pieces):
            table.write(path)
        elif "athlete" in table.columns:
            write_whole(table.lazy().sort("athlete", maintain_order=True), path)


def athletes(folder: Path) -> list[tuple[str, str]]:
    """Name and id of every athlete, in order of name."""
    people = pl.read_parquet(folder / "athlete.parquet").select("name", "athlete").sort("name", "athlete")
    return [(name, athlete) for name, athlete in people.rows()]


@functools.cache
def _scans(folder: Path) -> dict[str, pl.LazyFrame]:
    """Every table of the shelf, its file opened once."""
    return {file.stem: pl.scan_parquet(file) for file in sorted(folder.glob("*.parquet"))}


@functools.lru_cache(maxsize=8)
def report(folder: Path, athlete: str) -> Report:
    """One athlete's tables."""
    scans = _scans(folder)
    found = pl.collect_all([scan.filter(pl.col("athlete") == athlete) for scan in scans.values()])
    return Report.of(dict(zip(scans, found, strict=True)))
