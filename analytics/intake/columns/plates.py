"""Plates: a column of what hangs on the bar, which is a part of the load and never passes for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl

from analytics.intake.cells.loads import EMPTY_WORDS
from analytics.intake.cells.numbers import any_number, tidy
from analytics.intake.columns.rivals import filled
from analytics.intake.header.heading import Heading, normal
from analytics.intake.header.total import PLATES
from analytics.intake.lookup import Texts


def tell_plates(
    cells: pl.DataFrame, unused: Mapping[int, str], headings: Sequence[Heading], columns: dict[int, Texts]
) -> None:
    """Where the load is empty and plates are written, put these there, and why they are no load."""
    load = next((h.column for h in headings if h.field == "load" and h.set_number is None), None)
    part = next((i for i, name in unused.items() if PLATES & set(normal(name).split())), None)
    if load is None or part is None:
        return
    plates = Texts.of(cells.get_column(f"c{part}"))
    hung = plates.spread(_hangs, pl.Boolean(), False)
    if hung.any():
        plates = Texts(plates.ids.zip_with(hung, plates.ids * 0), plates.texts)
        columns[load] = filled(columns[load], plates, f" ({unused[part].strip()}), without the bar")


def _hangs(text: str) -> bool:
    words = tidy(text)
    return words not in EMPTY_WORDS and any_number(words) != 0
