"""Efforts: a list of RIR or RPE beside the sets of one row, ``3-2-1``, to one for each set."""

from __future__ import annotations

import re

import numpy as np
import polars as pl

from analytics.intake.cells.effort import parse_rir, parse_rpe
from analytics.intake.cells.numbers import tidy
from analytics.intake.sheet.sheet import Sheet

_SIGNS = re.compile(r"\s*[/;|]\s*|,\s+|\s*-\s*|(?<=\d),(?=\d)|\s+(?=\d)")
_DECIMALS = re.compile(r"\d,5\b")
_OF_TEN = re.compile(r"\d(?:[.,]\d)?\s*/\s*10")


def effort_list(text: str, field: str) -> tuple[float | None, ...]:
    """Repetitions in reserve of each set of a cell such as ``3-2-1``, ``@8, 8.5, 9``; empty if it is no list.

    Of two numbers ``1-2`` and ``8-9`` are a range, and ``9/10`` is nine of ten.
    """
    words = tidy(text).removeprefix(field).lstrip(" :@")
    if _DECIMALS.search(words):
        words = re.sub(r"(?<=\d),(?=5\b(?!,\d))", ".", words)
    parts = _SIGNS.split(words)
    if len(parts) < 2 or (len(parts) == 2 and not _two(words, parts, field)):
        return ()
    read = parse_rir if field == "rir" else parse_rpe
    found = [read(part.lstrip("@ "), "point") for part in parts]
    if any(value is None and not (problem or "").startswith("is an RPE below") for value, problem in found):
        return ()
    return tuple(value for value, _ in found)


def _two(words: str, parts: list[str], field: str) -> bool:
    if "-" in words:
        return field == "rir" and parts[0] > parts[1]
    return ", " in words or ("/" in words and not _OF_TEN.fullmatch(words))


def with_efforts(rows: pl.DataFrame, sheet: Sheet, at: np.ndarray, total: np.ndarray) -> pl.DataFrame:
    """`rows`, one a set, with the efforts listed beside as many sets; `at`: the row of the sheet of each set.

    `total`: the sets of each row of the sheet.  A list of another length says nothing; it stays in the note.
    """
    for field in ("rir", "rpe"):
        column = sheet.fields.get(field)
        if column is None:
            continue
        read = enumerate(effort_list(text or "", field) for text in column.texts)
        lists = {i: found for i, found in read if found}
        if not lists:
            continue
        ids = column.ids.to_numpy()[at]
        place = rows.get_column("piece").to_numpy()
        told = [
            lists[text][piece] if text in lists and len(lists[text]) == count else None
            for text, piece, count in zip(ids.tolist(), place.tolist(), total[at].tolist(), strict=True)
        ]
        rows = rows.with_columns(pl.coalesce(pl.Series(told, dtype=pl.Float64), "rir").alias("rir"))
    return rows
