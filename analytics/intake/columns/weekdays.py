"""Weekdays: a column of them beside dates that leave open whether the day or the month stands first."""

from __future__ import annotations

from analytics.intake.cells.dates import WEEKDAYS, read_moment
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.header.head import Head
from analytics.intake.header.heading import Heading, normal
from analytics.intake.lookup import Texts
from analytics.intake.source.records import Records

_NAMES = frozenset(meanings("day_of_week"))


def with_weekdays(
    head: Head, headings: list[Heading], columns: dict[int, Texts], cells: Records
) -> list[Heading]:
    """The headings, with a column ``Day`` whose every cell is a weekday, where that is needed."""
    dated = next((h.column for h in headings if h.field == "date"), None)
    beside = [h for h in (*head.headings, *head.rivals) if h.field == "date" and h.column != dated]
    beside += [Heading(i, name, "weekday") for i, name in head.unused.items() if normal(name) in _NAMES]
    if dated is None or not beside or not any(_is_open(text) for text in columns[dated].written):
        return headings
    for h in beside:
        said = columns[h.column] if h.column in columns else cells.texts(h.column)
        if said.written and all(weekday_of(text) is not None for text in said.written):
            columns[h.column] = said
            return sorted([*headings, Heading(h.column, h.text, "weekday")], key=lambda h: h.column)
    return headings


def weekday_of(text: str) -> int | None:
    """The number of a weekday, 1 for Monday; 0 is none that languages agree on."""
    return WEEKDAYS.get(plain(tidy(text)).strip(" .,").removesuffix("-feira"))


def _is_open(text: str) -> bool:
    return len(set(read_moment(text).by_order.values())) > 1
