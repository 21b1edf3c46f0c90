"""Problems: the cells of one sheet that keep their rows out, each with its reason and cure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

import polars as pl

from analytics.intake.lookup import constant
from analytics.intake.sheet.sheet import Sheet

PROBLEMS = {
    "row": pl.Int32(),
    "column": pl.String(),
    "cell": pl.String(),
    "kind": pl.String(),
    "reason": pl.String(),
    "cure": pl.String(),
}
LONGEST_CELL = 200
LATER = "is after the date of this run"
LATER_CURE = "Nothing to do: it counts from that date on"
FAR = "is more than a year after the date of this run"
FAR_LATER = timedelta(days=366)

CURES = {
    "date": "Write the day as 2026-01-31",
    "load": "Write a number with its unit, such as 80 kg",
    "reps": "Write a whole number of reps from 0 to 200",
    "set": "Write it as 3x8@80kg, or as 60kg x 12, 65kg x 10",
    "exercise": "Write which exercise it was",
    "athlete": "Write the athlete's id or name as in roster.toml",
}


class Problems:
    """Collects the problems of one sheet."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._found: list[pl.DataFrame] = []

    def texts(self, field: str, kind: str, reasons: Mapping[str, str], empty: str | None = None) -> None:
        """Every row whose text of `field` has a reason; `empty` is the reason of an empty cell."""
        column = self._sheet.fields[field]
        mask = column.where(reasons.__contains__, empty is not None)
        if mask is None or not mask.any():
            return
        said = column.take(mask).spread(reasons.get, pl.String(), empty)
        self.rows(mask, field, kind, said, CURES[kind])

    def rows(self, mask: pl.Series, field: str, kind: str, reason: pl.Series | str, cure: str) -> None:
        """Every row of a mask; `reason` is one text, or one for each of those rows."""
        sheet = self._sheet
        row, part = sheet.row.filter(mask), sheet.part.filter(mask)
        column = sheet.fields.get(field)
        cells = column.cells(mask) if column else constant(None, row.len(), pl.String())
        headers = {number: sheet.header(field, number) for number in part.unique().to_list()}
        frame = pl.DataFrame(
            {"row": row, "part": part, "cell": cells.str.slice(0, LONGEST_CELL)}
        ).with_columns(
            pl.col("part").replace_strict(headers, return_dtype=pl.String).alias("column")
            if headers
            else pl.lit(field).alias("column"),
            pl.lit(kind).alias("kind"),
            (pl.lit(reason) if isinstance(reason, str) else reason.alias("reason")).alias("reason"),
            pl.lit(cure).alias("cure"),
        )
        self._found.append(frame.select(pl.col(name).cast(dtype) for name, dtype in PROBLEMS.items()))

    def broken_off(self, line: int | None) -> None:
        """The line in which the file ends, if it does so in the middle."""
        if line is not None and (mask := self._sheet.row == line).any():
            self.rows(mask, "row", "set", "is where the file breaks off", "Export the file again")

    def add(self, others: Problems) -> None:
        """Those of the same sheet that were collected apart."""
        self._found += others._found

    def table(self) -> pl.DataFrame:
        """All of them: one row per cell."""
        return pl.concat(self._found) if self._found else pl.DataFrame(schema=PROBLEMS)
