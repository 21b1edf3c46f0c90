"""Records: the cells of one text, column by column, each with the true line its record starts on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest

import polars as pl

from analytics.intake.lookup import Texts, among

Record = tuple[str | None, ...]


@dataclass(frozen=True, slots=True)
class Records:
    """`lines`: the line (1-based) each record starts on; `columns`: the cells as written, spaces and all."""

    lines: pl.Series
    columns: tuple[Texts, ...]

    @staticmethod
    def listed(lines: Sequence[int], records: Sequence[Sequence[str]]) -> Records:
        """Records as lists of cells; there is one column at least."""
        columns = [Texts.listed(cells) for cells in zip_longest(*records)]
        return Records(pl.Series(lines, dtype=pl.Int32), tuple(columns or [Texts.blank(len(records))]))

    @staticmethod
    def joined(tables: Sequence[Records]) -> Records:
        """Tables below one another; where one has no such column its cells are empty."""
        width = max(len(table.columns) for table in tables)
        return Records(
            pl.concat([table.lines for table in tables]),
            tuple(Texts.joined([table.column(i).part for table in tables]) for i in range(width)),
        )

    @property
    def height(self) -> int:
        """How many there are."""
        return len(self.lines)

    def column(self, number: int) -> Texts:
        """The cells of a column, which may lie beyond the last one."""
        return self.columns[number] if number < len(self.columns) else Texts.blank(self.height)

    def texts(self, number: int) -> Texts:
        """The cells of a column as fields read them, without space around them."""
        return self.columns[number].stripped()

    def with_columns(self, at: int, columns: Sequence[Texts]) -> Records:
        """The same with other columns from number `at` on, as many as are given."""
        return Records(self.lines, (*self.columns[:at], *columns, *self.columns[at + len(columns) :]))

    def between(self, start: int, end: int | None = None) -> Records:
        """The records from `start` (counted from 0) to before `end`, with no text that others alone hold."""
        end = self.height if end is None else end
        return Records(self.lines[start:end], tuple(column.between(start, end) for column in self.columns))

    def elsewhere(self, lines: pl.Series) -> Records:
        """The records that start on none of these `lines`."""
        others = ~among(self.lines, lines)
        return Records(self.lines.filter(others), tuple(column.take(others) for column in self.columns))

    def written(self, start: int = 0, end: int | None = None) -> list[Record]:
        """The cells record by record, from `start` to before `end`."""
        cells = ([column.texts[i] for i in column.ids[start:end].to_list()] for column in self.columns)
        return list(zip(*cells, strict=True))
