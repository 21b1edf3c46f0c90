"""Ramp: loads listed in one stretch of shorthand with their reps, such as ``60/70/80 x 5``."""

from __future__ import annotations

import re
from dataclasses import replace

from analytics.intake.cells.loads import Load, parse_load
from analytics.intake.cells.reps import MOST_USUAL_REPS, NUMBER, Piece
from analytics.intake.cells.units import UNIT

_ONE = rf"{NUMBER}\s?(?:{UNIT})?"
_LOADS = rf"{_ONE}(?:(?:\s?/\s?{_ONE})+|(?:-{_ONE}){{2,}})"
_REPS = r"\d{1,3}(?:(?:[,/]\d{1,3})+|(?:-\d{1,3}){2,})?"
_LOADS_REPS = re.compile(rf"({_LOADS})\s*(?:x|:|for)\s*({_REPS})")
_REPS_LOADS = re.compile(
    rf"(?:([1-9])\s?x\s?)?({_REPS})\s*(?:reps?\s*)?(?:@|\bat\b|\b[aà]\b|\bmit\b|\bcon\b|\bcom\b|\bmet\b)\s*({_LOADS})"
)
_HIGHEST_RPE = 10
_EITHER = "may be loads and their reps, or reps and their load: write kg or lb behind the load"


def read_ramp(item: str, decimal: str) -> list[Piece] | str | None:
    """A set at each load of ``60/70/80 x 5/5/3``, ``10/8/6 @ 60/70/80``, ``3x10 @ 60/65/70``; or why not.

    None where an item lists no loads.
    """
    if found := _LOADS_REPS.fullmatch(item):
        return _each(found[1], found[2], decimal, told=False)
    if found := _REPS_LOADS.fullmatch(item):
        sets = _each(found[3], found[2], decimal, told=True)
        if found[1] and not isinstance(sets, str) and len(sets) != int(found[1]):
            return "lists another number of loads than of sets"
        return sets
    return None


def _each(loads: str, reps: str, decimal: str, *, told: bool) -> list[Piece] | str:
    """`told`: an @ says which are loads, if not efforts; else they are heavy, broken, rising or of a unit."""
    found = [parse_load(load, decimal) for load in re.split(r"\s?[/-]\s?", loads)]
    if problem := next((load.problem for load in found if load.problem), None):
        return problem
    values = [load.value or 0.0 for load in found]
    done = [int(number) for number in re.split(r"[,/-]", reps)]
    rising = len(set(values)) == len(values) and values == sorted(values)
    unit = next((load.unit for load in reversed(found) if load.unit), None)
    heavy = max(values) > MOST_USUAL_REPS or any(value % 1 for value in values)
    sure = min(values) > _HIGHEST_RPE if told else heavy or rising
    if max(done) > MOST_USUAL_REPS or not (unit or sure):
        return _EITHER
    if len(done) not in (1, len(found)):
        return "lists another number of loads than of reps"
    return [Piece(load=_in(load, unit), reps=done[i % len(done)]) for i, load in enumerate(found)]


def _in(load: Load, unit: str | None) -> Load:
    return replace(load, unit=load.unit or unit)
