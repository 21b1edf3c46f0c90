"""Durations: whether a column of times says the time of day, how long a set was held, or a whole workout."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import polars as pl

from analytics.intake.cells.effort import parse_seconds
from analytics.intake.header.heading import Heading, bare_name
from analytics.intake.lookup import Texts

LENGTH = "length"
"""The field of a column that says how long the workout took."""
_EITHER = {
    *("duration", "time", "dauer", "zeit", "duracion", "duree", "durata", "duracao", "duur", "tijd"),
    *("tiempo", "temps", "tempo"),
}
"""Names that may say how long a set was held or how long the workout took."""
_LONGEST_SET_S = 600
"""A set of repetitions takes less than ten minutes; common practice, no source."""

Columns = dict[int, Texts]


def with_durations(headings: Sequence[Heading], columns: Columns) -> list[Heading]:
    """The headings, with the field that times have by the repetitions beside them.

    A column ``Time`` that is filled where reps are not, or whose header says seconds, is time under load.
    A column ``Duration`` beside reps that says the same on all rows of a day, or more than ten minutes a
    set, is how long the workout took.
    """
    by = {h.field: h for h in headings if h.set_number is None and columns[h.column].written}
    reps = _filled(columns[by["reps"].column]) if "reps" in by else None
    found = list(headings)
    clock = by.get("time")
    if clock and "seconds" not in by and _holds(clock, columns[clock.column], reps):
        by["seconds"] = held = replace(clock, field="seconds")
        found = [held if h is clock else h for h in found if h.field != "seconds"]
    said = by.get("seconds")
    if said and reps is not None and _is_length(said, by, columns, reps):
        found = [replace(h, field=LENGTH) if h is said else h for h in found]
    return found


def _holds(heading: Heading, times: Texts, reps: pl.Series | None) -> bool:
    if heading.unit in ("s", "min"):
        return True
    timed = _filled(times)
    both = int((timed & reps).sum()) if reps is not None else 0
    return bool(timed.any()) and both <= 0.1 * int(timed.sum())


def _is_length(heading: Heading, by: dict[str, Heading], columns: Columns, reps: pl.Series) -> bool:
    """Whether a time beside reps is that of the workout."""
    times = columns[heading.column]
    timed = _filled(times)
    if bare_name(heading.text) not in _EITHER or not timed.any() or (timed & ~reps).any():
        return False
    seconds = times.spread(lambda text: parse_seconds(text, heading.unit or "s")[0], pl.Float64())
    if bool((seconds.filter(timed) > _LONGEST_SET_S).all()):
        return True
    if not {"date", "exercise"} <= by.keys():
        return False
    day, lift = (
        columns[by[name].column].ids.replace(0, None).forward_fill() for name in ("date", "exercise")
    )
    told = pl.DataFrame([day.alias("day"), lift.alias("lift"), times.ids.alias("text")]).filter(timed)
    days = told.group_by("day").agg(
        pl.col("text").n_unique().alias("texts"),
        pl.col("lift").n_unique().alias("lifts"),
        pl.len().alias("rows"),
    )
    even = bool((days.get_column("texts") == 1).all())
    return even and bool(((days.get_column("rows") > 2) & (days.get_column("lifts") > 1)).any())


def _filled(column: Texts) -> pl.Series:
    """Rows whose cell holds a number other than nought (a repeated header holds none)."""
    filled = column.where(lambda text: any(c.isdigit() and c != "0" for c in text))
    return pl.Series([False]).new_from_index(0, len(column.ids)) if filled is None else filled
