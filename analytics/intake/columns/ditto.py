"""Ditto: marks that repeat the cell above, as written on paper."""

from __future__ import annotations

import re
from collections.abc import Sequence

import polars as pl

from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.header.heading import Heading
from analytics.intake.lookup import Texts

_MARK = re.compile(r"[-–—\s]*(?:[\"“”„″〃]{1,2}|'')[-–—\s]*")
_DIGIT = re.compile(r"\d")
_LONGEST = 20
_AMOUNTS = ("load", "added", "reps", "rir", "rpe", "seconds", "rest", "work", "sets")


def repeat_marks(columns: dict[int, Texts], headings: Sequence[Heading], keep: pl.Series) -> tuple[str, ...]:
    """Put the text of the cell above in the place of its marks; told as remarks for the ledger.

    The cell above is that of the last row of `keep` (rows that may hold sets).  An amount counts for the
    same exercise only; a mark below an empty cell stays, and is told.
    """
    asked = [h for h in headings if h.field != "note"]
    marked = {h.column: mask for h in asked if (mask := columns[h.column].where(_repeats)) is not None}
    if not marked:
        return ()
    remarks = []
    exercise = next((h.column for h in headings if h.field == "exercise"), None)
    for h in sorted(asked, key=lambda h: h.field in _AMOUNTS):
        if h.column not in marked:
            continue
        ids = columns[h.column].ids
        frame = pl.DataFrame([ids.alias("i"), marked[h.column].alias("mark")]).filter(keep)
        above = pl.when("mark").then(None).otherwise("i").forward_fill()
        if h.field in _AMOUNTS and exercise is not None:
            lift = columns[exercise].ids.filter(keep)
            frame = frame.with_columns((lift != lift.shift(1)).fill_null(True).cum_sum().alias("lift"))
            above = above.over("lift")
        filled = frame.select(pl.when(above > 0).then(above).otherwise("i")).to_series()
        columns[h.column] = Texts(ids.scatter(keep.arg_true(), filled), columns[h.column].texts)
        remarks.append(f"marks in {h.text.strip()[:30]!r} repeat the cell above")
    return tuple(remarks)


def _repeats(text: str) -> bool:
    if len(text) > _LONGEST or _DIGIT.search(text):
        return False
    return bool(_MARK.fullmatch(text)) or plain(tidy(text)) in meanings("ditto")
