"""Set log: the typed rows of all files as the set table, whole or part by part while it is written."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

import numpy as np
import polars as pl

from analytics.intake.lookup import Texts, codes_of, filled
from analytics.intake.table.order import ordered
from analytics.intake.table.roles import log_of, role_columns
from analytics.intake.table.sets import Names, text_columns
from analytics.intake.table.suspect import mark_suspect
from analytics.intake.threads import ahead, side_by_side
from analytics.schema import SETS

PART_ROWS = 200_000
"""A part has at least so many sets, if that many are left."""

_AS_READ = {"session": "session_no", "source_row": "row"}


@dataclass(frozen=True, kw_only=True)
class SetLog:
    """All sets that count: typed `rows` in the order of files and lines, what the `names` mean, the `files`.

    What is said of a set rests on the sets of its athlete alone, so athletes can be worked on one by one.
    """

    rows: pl.DataFrame
    names: Names
    files: tuple[str, ...]

    def table(self) -> pl.DataFrame:
        """The set table."""
        return _finished(self, self.rows, Texts.cells)

    def parts(self) -> Iterator[pl.DataFrame]:
        """The set table in parts of whole athletes, in order, each text column an Enum of its own."""
        rows = self.rows
        if not pl.Series(codes_of(rows.get_column("athlete"))).is_sorted():
            rows = rows.sort(pl.col("athlete").to_physical(), maintain_order=True)
        cuts = pairwise(_cuts(rows.get_column("athlete")))
        return ahead(partial(_finished, self, rows.slice(a, b - a), Texts.enum) for a, b in cuts)


def _finished(log: SetLog, rows: pl.DataFrame, texts: Callable[[Texts], pl.Series]) -> pl.DataFrame:
    """The set table of `rows`, all those of some athletes, with their `texts` as strings or as Enums."""
    if rows.is_empty():
        return SETS.empty()
    rows = ordered(rows)

    def written() -> dict[str, pl.Series]:
        return {name: texts(column) for name, column in text_columns(rows, log.names, log.files).items()}

    def judged() -> dict[str, pl.Series]:
        roles, chain = _roles(rows)
        return {"chain": chain, **{name: texts(column) for name, column in roles.items()}}

    def doubted() -> dict[str, pl.Series]:
        return {"suspect": mark_suspect(rows)}

    steps = side_by_side((judged, written, doubted), rows.height)
    found = {name: column for step in steps for name, column in step.items()}
    as_read = {
        c.name: rows.get_column(_AS_READ.get(c.name, c.name)).cast(c.dtype)
        for c in SETS.columns
        if c.name not in found
    }
    # The rows are in the order of the table's key already.
    return pl.DataFrame({name: (found | as_read)[name] for name in SETS.names})


def _cuts(athlete: pl.Series) -> list[int]:
    """Where parts begin and end: 0, the first row of some athletes, the number of rows."""
    codes = codes_of(athlete)
    cuts = [0]
    for at in (1 + np.flatnonzero(codes[1:] != codes[:-1])).tolist():
        if at - cuts[-1] >= PART_ROWS:
            cuts.append(at)
    return [*cuts, len(codes)] if len(codes) else cuts


def _roles(rows: pl.DataFrame) -> tuple[dict[str, Texts], pl.Series]:
    """(`role` and `role_source`, `chain`) of every row (ordered)."""
    opens = rows.get_column("set_number").to_numpy() == 1
    athlete = codes_of(rows.get_column("athlete"))[opens].astype(np.int64)
    lift = rows.get_column("lift").to_numpy()[opens]
    role = rows.get_column("role")
    told = np.full(len(role), -1, dtype=np.int8)
    if role.null_count() < len(role):
        told = filled(role.to_physical().cast(pl.Int8), -1)
    log = log_of(rows, told, opens, athlete * (1 + int(lift.max())) + lift, athlete)
    return role_columns(log, rows.get_column("chain"))
