"""Sheet: what one file says, as named text fields with their lines and headers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import polars as pl

from analytics.intake.lookup import Texts

DAYS_ACROSS = "days across"
"""The layout of a table with a column for each day, whose lines hold several days."""


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """Named text fields, one entry per row that may hold sets.

    `row`: line in the file; `part`: number of the set in a row with numbered columns, else 0; `fields`:
    texts by field.  `units`: unit written in a field's header.  `headers`: header text by field and set
    number. `overlong`: mask of the rows with cells beyond the last named column, whose cells may have
    shifted.
    """

    row: pl.Series
    part: pl.Series
    fields: Mapping[str, Texts]
    layout: str
    units: Mapping[str, str] = field(default_factory=dict)
    headers: Mapping[tuple[str, int | None], str] = field(default_factory=dict)
    overlong: pl.Series | None = None
    remarks: tuple[str, ...] = ()

    def header(self, name: str, part: int | None = None) -> str:
        """The header text of a field as the file writes it."""
        text = self.headers.get((name, None)) or self.headers.get((name, part)) or name
        return text.strip()
