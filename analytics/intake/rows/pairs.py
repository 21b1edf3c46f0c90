"""Pairs: cells of a load and its reps in the order that their header says, ``8/82,5`` under ``reps/kg``."""

from __future__ import annotations

import re

from analytics.intake.cells.item import LOAD
from analytics.intake.cells.numbers import any_number, tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.reps import MOST_USUAL_REPS
from analytics.intake.cells.units import UNIT_WORDS
from analytics.intake.cells.vocabulary import column_names
from analytics.intake.sheet.sheet import Sheet

_BETWEEN = re.compile(r"\s*(?:[/@*]|\b(?:x|por|per|par|pro|for)\b)\s*")
_INSIDE = re.compile(r"[(\[]([^()\[\]]+)[)\]]")
_NUMBERED = re.compile(r"^.*\d[.:]?\s+(?=\S)")
_NEXT = re.compile(r"\s*[;\n]\s*|,\s+")
_PAIR = re.compile(rf"({LOAD})\s*[/x@]\s*({LOAD})(\s*(?:@?\s*r(?:pe|ir)\b.*|\(.*\)|@\s*\d+(?:[.,]5)?|[f!]))?")


def pair_order(sheet: Sheet, field: str) -> tuple[str, str] | None:
    """(what stands first, unit of the load or nothing) where a header of `field` names a load and reps.

    What stands first is ``load`` or ``reps``.  None where the header does not say it, or says it as
    ``kg x reps``, which is the usual order of shorthand.
    """
    for (name, _), text in sheet.headers.items():
        if name == field and (order := _order(text)):
            return order
    return None


def _order(header: str) -> tuple[str, str] | None:
    words = plain(tidy(header))
    for inside in (*_INSIDE.findall(words), _NUMBERED.sub("", words)):
        kinds = [(_kind(part), UNIT_WORDS.get(part, "")) for part in _BETWEEN.split(inside)]
        if sorted(kind for kind, _ in kinds) == ["load", "reps"]:
            unit = "".join(unit for _, unit in kinds)
            return (kinds[0][0], unit) if kinds[0][0] == "reps" or "/" in inside else None
    return None


def _kind(name: str) -> str:
    names = column_names("sets")
    return next((field for field in ("load", "reps") if name in names[field] or name in UNIT_WORDS), "")


def in_order(text: str, order: tuple[str, str]) -> str:
    """A cell with its loads before their reps, ``82,5kg x 8``; what is no such pair stays as it is."""
    first, unit = order
    parts = []
    for part in _NEXT.split(tidy(text)):
        found = _PAIR.fullmatch(part)
        if found is None:
            parts.append(part)
            continue
        reps, load = found.groups()[:2] if first == "reps" else found.groups()[1::-1]
        if not reps.isdigit() or (int(reps) > MOST_USUAL_REPS > (any_number(load) or MOST_USUAL_REPS)):
            parts.append(f"{part} ?")  # not in the order of the header
            continue
        own = "" if load[-1:].isalpha() else unit
        parts.append(f"{load}{own} x {reps}{found[3] or ''}")
    return "; ".join(parts)
