"""Parts: one field that a file writes in several columns, such as a day, its month and its year."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import polars as pl

from analytics.intake.cells.dates import MONTHS
from analytics.intake.cells.naming import paired_sides
from analytics.intake.cells.numbers import any_number, tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.units import UNIT
from analytics.intake.cells.words import parse_role
from analytics.intake.header.heading import Heading, normal
from analytics.intake.header.sides import side_order
from analytics.intake.header.total import sides_of
from analytics.intake.lookup import Texts

_DAY_AND_MONTH = re.compile(
    r"(?:[^\W\d]+\.?,? )?\d{1,2}(?:\s?[./-]\s?\d{1,2}\.?|(?:\.|st|nd|rd|th)? (?:de )?[^\W\d]{3,}\.?)"
)
_DAY_OF_MONTH = re.compile(r"(?:[^\W\d]+\.?,? )?(\d{1,2})(?:\.0|[.ºª°]|er|st|nd|rd|th)?")
_NUMBERED = re.compile(r"([^\W\d_]{1,6})\s?\d{1,2}")
_YEAR = re.compile(r"(?:20)?(\d{2})(?:\.0)?")
_PLATE = re.compile(r"(?:(\d)\s?x\s?)?(\d+(?:[.,]\d+)?)")
_WITH_UNIT = re.compile(rf"\s?(?:{UNIT})$")
_HELP = re.compile(rf"([+-])?\s?(\d[\d.,]*)\s?({UNIT})?")
_SLASHED = re.compile(r"(?<![\d/,.])(\d{1,3})\s?/\s?(\d{1,3})(?![\d/,.])")
_MOST_HELPED = 5
"""Repetitions of a set that had help; common practice, no source."""

Columns = dict[int, Texts]


def joined(headings: Sequence[Heading], columns: Columns) -> list[Heading]:
    """The headings, with the texts of one field in one column.

    A day of the month, its month and its year become a date; assistance becomes added weight below nought,
    where one column says both by the sign;
    ``Row - E`` beside ``Row - D`` says its side in words; plain repetitions give way to those of the sides.
    """
    by = {h.field: h for h in headings if h.set_number is None}
    found = list(headings)
    if not ({"date", "year"} <= by.keys() and _join_days(by, columns)):
        found = [replace(h, field="unused") if h.field in ("month", "year") else h for h in found]
    if "signed" in by:
        columns[by["signed"].column] = _with_signs(columns[by["signed"].column], by["signed"].unit or "")
        found = [replace(h, field="added") if h.field == "signed" else h for h in found]
    if "assistance" in by:
        found = _with_assistance(found, by, columns)
    if "bar" in by and "load" in by:
        bar, plates = (columns[by[name].column] for name in ("bar", "load"))
        times = sides_of(by["load"].text)
        columns[by["load"].column] = combined([bar, plates], lambda b, p: _with_bar(b, p, times))
    if "exercise" in by:
        names = columns[by["exercise"].column]
        if said := paired_sides(names.written):
            texts = (None if text is None else said.get(text, text) for text in names.texts)
            columns[by["exercise"].column] = Texts(names.ids, tuple(texts))
    for h in found:
        if h.field == "reps" and (first := side_order(normal(h.text))[0]):
            columns[h.column] = _with_sides(columns[h.column], first)
    _give_way(found, columns)
    return found


def _with_sides(reps: Texts, first: str) -> Texts:
    """``12/10`` with its sides, ``12r/10l``, in the order that the name of its column says."""
    one, other = ("l", "r") if first == "left" else ("r", "l")
    told = (text and _SLASHED.sub(rf"\1{one}/\2{other}", text) for text in reps.texts)
    return Texts(reps.ids, tuple(told))


def explain(headings: Sequence[Heading], columns: Columns, legend: Mapping[str, str]) -> None:
    """Put the words of a file's `legend` for the abbreviations in cells of role, side and failure.

    A letter for failure behind reps, ``12E``, becomes a mark that every file knows.
    """
    failing = [re.escape(short) for short, word in legend.items() if parse_role(word)[1]]
    behind = re.compile(rf"(?<=\d)\s?(?:{'|'.join(failing)})\b\.?", re.IGNORECASE)
    for h in headings if legend else ():
        if failing and h.field in ("reps", "work"):
            column = columns[h.column]
            texts = (text and behind.sub("!", text) for text in column.texts)
            columns[h.column] = Texts(column.ids, tuple(texts))
        if h.field in ("role", "side", "failure", "set_number", "warm_up"):
            column = columns[h.column]
            texts = (text and _explained(text, legend) for text in column.texts)
            columns[h.column] = Texts(column.ids, tuple(texts))


def _explained(text: str, legend: Mapping[str, str]) -> str:
    """The word for a letter, also before a number: ``A1`` is the first warm-up where A is one."""
    letter = _NUMBERED.fullmatch(short := normal(text))
    return legend.get(short) or legend.get(letter[1] if letter else short) or text


def combined(columns: Sequence[Texts], make: Callable[..., str | None]) -> Texts:
    """One text a row out of those of several columns; `make` is asked once for each combination."""
    keys = columns[0].ids.cast(pl.Int64)
    for column in columns[1:]:
        keys = keys * len(column.texts) + column.ids
    distinct = keys.unique().sort()
    told = [make(*_texts(key, columns)) for key in distinct.to_list()]
    texts = (None, *dict.fromkeys(text for text in told if text is not None))
    place = {text: i for i, text in enumerate(texts)}
    table = pl.Series([place[text] for text in told], dtype=pl.UInt32)
    return Texts(table[distinct.search_sorted(keys)], texts)


def _texts(key: int, columns: Sequence[Texts]) -> list[str | None]:
    texts = []
    for column in reversed(columns):
        key, number = divmod(key, len(column.texts))
        texts.append(column.texts[number])
    return texts[::-1]


def _join_days(by: Mapping[str, Heading], columns: Columns) -> bool:
    day = columns[by["date"].column]
    read = [_DAY_OF_MONTH, _DAY_AND_MONTH]["month" not in by]
    if 2 * sum(read.fullmatch(tidy(text)) is not None for text in day.written) <= len(day.written):
        return False
    above = [columns[by[name].column] for name in ("year", "month") if name in by]
    above = [Texts(c.ids.replace(0, None).forward_fill().fill_null(0), c.texts) for c in above]
    columns[by["date"].column] = combined([*above, day], _date if "month" in by else _with_year)
    return True


def _date(year: str | None, month: str | None, day: str | None) -> str | None:
    """``2026-02-03``; what cannot be joined stands side by side, a day that is missing stays so."""
    if day is None:
        return None
    of_year, of_day = _YEAR.fullmatch(tidy(year)), _DAY_OF_MONTH.fullmatch(tidy(day))
    number = any_number(tidy(month)) or MONTHS.get(plain(tidy(month)))
    if of_year and of_day and number in range(1, 13):
        return f"20{of_year[1]}-{int(number or 0):02}-{int(of_day[1]):02}"
    return " ".join(part for part in (day, month, year) if part) if of_day else day


def _with_year(year: str | None, day: str | None) -> str | None:
    """``12.03.`` or ``12 March`` with its year."""
    mark = next(
        (c for c in "/-" if day and c in day), "." if day and day[-1:].isdigit() and "." in day else " "
    )
    return day and f"{day.rstrip()}{'' if day.endswith('.') else mark}{year or ''}".strip()


def _with_bar(bar: str | None, plates: str | None, times: int) -> str | None:
    """The bar and the plates on it as one load; what is no number stands beside the other, which is no load.

    Plates may be several, ``20+2,5`` or ``2x20``.
    """
    if plates is None and bar is None:
        return None
    told = [_WITH_UNIT.sub("", tidy(text)) for text in (bar, plates)]
    units = {said[0].strip() for text in (bar, plates) if (said := _WITH_UNIT.search(tidy(text)))}
    hung = [_PLATE.fullmatch(part) for part in re.split(r"\s?\+\s?", told[1])]
    weights = [int(h[1] or 1) * (any_number(h[2]) or 0.0) for h in hung if h]
    alone = any_number(told[0])
    if alone is None or len(weights) < len(hung) or len(units) > 1:
        return f"{bar or '?'} and plates of {plates or '?'}"
    mark = "," if "," in f"{bar}{plates}" else "."
    return " ".join([f"{alone + times * sum(weights):g}".replace(".", mark), *units])


def _with_signs(column: Texts, unit: str) -> Texts:
    """Added weight or help by its sign; a number without one is added where others have a minus, or open."""
    signs = {tidy(text)[:1] for text in column.written}

    def told(text: str | None) -> str | None:
        words = tidy(text)
        if words[:1].isdigit() and any_number(words) != 0 and "-" not in signs:
            return f"{text} (added or taken off)"
        return text if any_number(words.lstrip("+-")) is None else f"{text} {unit}".rstrip()

    return Texts(column.ids, tuple(told(text) for text in column.texts))


def _with_assistance(headings: list[Heading], by: Mapping[str, Heading], columns: Columns) -> list[Heading]:
    helping, added = by["assistance"], by.get("added")
    helps = columns[helping.column]
    if not any(_HELP.fullmatch(tidy(text)) for text in helps.written):
        return [replace(h, field="unused") if h is helping else h for h in headings]
    unit = helping.unit or (None if _may_be_reps(helps) else "")
    if added is None:
        columns[helping.column] = combined([helps], lambda text: _less(None, text, unit))
        return [replace(h, field="added") if h is helping else h for h in headings]
    columns[added.column] = combined(
        [columns[added.column], helps], lambda more, text: _less(more, text, unit)
    )
    return [h for h in headings if h is not helping]


def _may_be_reps(helps: Texts) -> bool:
    """Whether help without a unit is so little that it may be how many repetitions had help."""
    found = [_HELP.fullmatch(tidy(text)) for text in helps.written]
    return all(h is None or (h[3] is None and (any_number(h[2]) or 0) <= _MOST_HELPED) for h in found)


def _less(added: str | None, assistance: str | None, unit: str | None) -> str | None:
    """Assistance as added weight below nought; beside added weight both, which is no load."""
    words = tidy(assistance)
    found = _HELP.fullmatch(words)
    if not words or (found and any_number(found[2]) == 0):
        return added
    if found and unit is None and found[3] is None:
        return f"{assistance} (reps or a load)"
    less = f"-{found[2]} {found[3] or unit or ''}".rstrip() if found else assistance
    return less if added is None or any_number(tidy(added)) == 0 else f"{added} and {less}"


def _give_way(headings: Sequence[Heading], columns: Columns) -> None:
    """Plain reps beside those of both sides, if they are those of one side, or both together."""
    for h in headings:
        sides = [o for o in headings if o.side and o.field == h.field]
        if h.side is None and h.set_number is not None and len(sides) == 2:
            columns[h.column] = combined([columns[o.column] for o in (h, *sides)], _plain)


def _plain(plain_text: str | None, left: str | None, right: str | None) -> str | None:
    if plain_text is None or (left is None and right is None):
        return plain_text
    told, one, other = (any_number(tidy(text)) for text in (plain_text, left, right))
    of_sides = {one, other, (one or 0) + (other or 0)}
    return None if told in of_sides else f"{plain_text} beside {left or ''} and {right or ''}"
