"""Total: the load of a row whose plates, and perhaps bar, stand in columns of their own."""

from __future__ import annotations

from collections.abc import Sequence

from analytics.intake.cells.numbers import any_number, tidy
from analytics.intake.cells.vocabulary import column_names, meanings
from analytics.intake.header.heading import Heading, bare_name, normal, unit_of

BARS, PLATES, TOTALS = (frozenset(meanings(kind)) for kind in ("bar", "plates", "total"))
_LOADS = ("", *column_names("sets")["load"])
_SIDES = meanings("plates_of")
_HEAVIEST_BAR = {"kg": 60.0, "lb": 135.0}
"""A bar, or the sledge of a machine; common practice, no source."""
_LOOKED_AT = 40

Cells = Sequence[str | None]


def with_total(header: Cells, below: Sequence[Cells], headings: list[Heading]) -> list[Heading]:
    """``Total`` is the load where most rows add up: plates, of one side or of both, and the bar.

    Without a column for the bar, what is left has to be as light as a bar.  Where no name says the load,
    ``Plates per side``, or of both, do beside the bar (see `parts`).  Else nothing is changed.
    """
    names = [bare_name(cell or "") for cell in header]
    bar = next((i for i, name in enumerate(names) if name in BARS), None)
    beside = bar is not None and any(h.field == "reps" for h in headings)
    plates = next((i for i, name in enumerate(names) if _names_plates(name, beside=beside)), None)
    total = next((i for i, name in enumerate(names) if name in TOTALS), None)
    if plates is None or any(h.field == "load" and h.column not in (bar, plates, total) for h in headings):
        return headings
    if total is None:
        return _with_parts(header, headings, bar, plates)
    unit = unit_of(str(header[total])) or unit_of(str(header[plates]))
    rows = [
        [0.0 if i is None else _number(record, i) for i in (bar, plates, total)]
        for record in below[:_LOOKED_AT]
        if _number(record, total) and (bar is not None or _number(record, plates))
    ]
    heaviest = _HEAVIEST_BAR.get(unit or "kg", 0.0) if bar is None else 0.0
    sums = [any(0 <= whole - empty - n * side <= heaviest for n in (1, 2)) for empty, side, whole in rows]
    if 2 * sum(sums) <= len(sums):
        return headings
    load = Heading(total, str(header[total]), "load", unit)
    return sorted([load, *(h for h in headings if h.field != "load")], key=lambda h: h.column)


def _with_parts(header: Cells, headings: list[Heading], bar: int | None, plates: int) -> list[Heading]:
    """The headings with a bar and the plates on it, if a name says of how many sides these are."""
    if bar is None or not sides_of(str(header[plates])) or any(h.field == "added" for h in headings):
        return headings
    units = [unit_of(str(header[i])) for i in (bar, plates)]
    if len({*units} - {None}) > 1:
        return headings
    unit = units[0] or units[1]
    parts = [Heading(bar, str(header[bar]), "bar", unit), Heading(plates, str(header[plates]), "load", unit)]
    others = [h for h in headings if h.column not in (bar, plates) and h.field != "load"]
    return sorted([*others, *parts], key=lambda h: h.column)


def _names_plates(name: str, *, beside: bool) -> bool:
    """Whether a name is that of plates; `beside` a bar so is ``Per side`` or ``Weight per side``."""
    if PLATES & set(name.split()):
        return True
    if not beside or not sides_of(name):
        return False
    sides = sorted((spelled for spelled in _SIDES if f" {spelled} " in f" {name} "), key=len)
    return f" {name} ".replace(f" {sides[-1]} ", " ").strip() in _LOADS


def sides_of(name: str) -> int:
    """How many times the plates of a column hang on the bar: twice those of one side; 0 where nobody says."""
    words = f" {normal(name)} "
    said = {times for spelled, times in _SIDES.items() if f" {spelled} " in words}
    return {"one": 2, "both": 1}[said.pop()] if len(said) == 1 else 0


def _number(record: Cells, column: int) -> float:
    return any_number(tidy(record[column])) or 0.0 if column < len(record) else 0.0
