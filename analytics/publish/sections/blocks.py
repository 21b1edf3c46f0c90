"""Blocks: what every section is made of, and the report's tables read from their folder."""

from __future__ import annotations

import re
from pathlib import Path

import polars as pl

from analytics.charts import Figure
from analytics.publish.show import Look, Shown, figure

CAUTIONED = (
    "What to try is a suggestion to a qualified coach; the cautions at the end of this page come first."
)
"""Stands over every list of advice."""
_MARKDOWN = re.compile(r"([\\`*_{}\[\]()#+\-.!|<>~])")


def load_tables(folder: str) -> dict[str, pl.DataFrame]:
    """Every table of a report's folder, by name."""
    return {path.stem: pl.read_ipc_stream(path) for path in sorted(Path(folder).glob("*.arrow"))}


def plain(text: str) -> str:
    """Text from a log or a table, so that Markdown shows it letter by letter."""
    return _MARKDOWN.sub(r"\\\1", " ".join(text.split()))


def drawn(one: Figure) -> Shown:
    """A figure with its table."""
    return figure(one, one.table, Look(decimals=one.decimals))
