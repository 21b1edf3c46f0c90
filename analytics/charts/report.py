"""Report: the tables of one athlete as a report notebook holds them, and the words for what is in them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import polars as pl


@dataclass(frozen=True, kw_only=True)
class Report:
    """One athlete's tables, by name; `athlete` and `names` are among them.

    `athlete` has one row (athlete, name, title, as_of, week, stage_date, weeks_to_stage, phase, priority),
    and `names` one row per id (id, name): exercises, families and muscle groups that occur in the tables.
    """

    tables: Mapping[str, pl.DataFrame]
    words: Mapping[str, str] = field(default_factory=dict)
    parted: dict[str, dict[Any, pl.DataFrame]] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def of(cls, tables: Mapping[str, pl.DataFrame]) -> Report:
        """The report with its words looked up once."""
        return cls(tables=tables, words=dict(tables["names"].select("id", "name").rows()))

    def __getitem__(self, table: str) -> pl.DataFrame:
        return self.tables[table]

    def own(self, table: str, exercise: str) -> pl.DataFrame:
        """A table's rows of one exercise; the table is parted once, not filtered for every chart."""
        if table not in self.parted:
            parts = self.tables[table].partition_by("exercise", maintain_order=True, as_dict=True)
            self.parted[table] = parts
        found = self.parted[table].get((exercise,))
        return self.tables[table].clear() if found is None else found

    @property
    def who(self) -> dict[str, Any]:
        """The row of the athlete table."""
        return self.tables["athlete"].row(0, named=True)

    @property
    def as_of(self) -> date:
        """The last day that was looked at."""
        day: date = self.who["as_of"]
        return day

    @property
    def in_pounds(self) -> bool:
        """Whether most rows of the exports are in pounds, by the files or by the roster's default."""
        used = self.tables["ledger"].filter(pl.col("unit").is_not_null())
        pounds = used.filter(pl.col("unit").str.contains(r"\blb\b"))["rows_used"].sum()
        return bool(2 * pounds > used["rows_used"].sum())

    def word(self, subject: str) -> str:
        """What a page calls an exercise, family or muscle group."""
        return self.words.get(subject, subject)

    def named(self, column: str) -> pl.Expr:
        """An expression that turns ids into what a page calls them."""
        return pl.col(column).replace_strict(self.words, default=pl.col(column), return_dtype=pl.String)
