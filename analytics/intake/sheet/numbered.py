"""Numbered columns: rows that hold one set after the other side by side, to one entry a set."""

from __future__ import annotations

from collections.abc import Mapping

import polars as pl

from analytics.intake.header.heading import Heading
from analytics.intake.lookup import Texts, any_of, constant


def stack_sets(
    row: pl.Series,
    columns: Mapping[int, Texts],
    shared: Mapping[str, Texts],
    headings: list[Heading],
    numbers: list[int],
    beyond: pl.Series | None,
) -> tuple[dict[str, Texts], pl.Series, pl.Series, pl.Series | None]:
    """One entry per set out of rows with numbered columns, in order of row and set number."""
    names = sorted({h.field for h in headings if h.set_number is not None})
    picks, parts = [], []
    own: dict[str, list[Texts]] = {name: [] for name in names}
    for number in numbers:
        mine = {h.field: columns[h.column] for h in headings if h.set_number == number}
        some = any_of([column.ids > 0 for column in mine.values()])
        pick = some.arg_true()
        picks.append(pick)
        parts.append(constant(number, pick.len(), pl.Int32()))
        for name in names:
            column = mine.get(name) or shared.get(name)
            own[name].append(Texts.blank(pick.len()) if column is None else column.take(pick))
    order = pl.DataFrame({"pick": pl.concat(picks).cast(pl.Int64), "part": pl.concat(parts)})
    order = order.with_row_index("i").sort("pick", "part", maintain_order=True)
    pick, place = order.get_column("pick"), order.get_column("i")
    fields = {name: column.take(pick) for name, column in shared.items() if name not in names}
    for name in names:
        fields[name] = Texts.joined([column.part for column in own[name]]).take(place)
    return fields, row[pick], order.get_column("part"), None if beyond is None else beyond[pick]


def said_of(headings: list[Heading], part: pl.Series, name: str) -> Texts:
    """The role or the side (`name`) that the names of a set's columns say, such as ``Warm-up kg`` or ``Reps
    left``; `part`: the set numbers."""
    said: dict[int, str] = {}
    for h in headings:
        if h.set_number is not None and (told := getattr(h, name)):
            said[h.set_number] = told
    words = (None, *sorted(set(said.values())))
    table = [words.index(said.get(number)) for number in range(1 + max(h.set_number or 0 for h in headings))]
    return Texts(pl.Series(table, dtype=pl.UInt32)[part], words)
