"""Numbering: the names of columns that hold one of several sets of a row."""

from __future__ import annotations

import re
from collections.abc import Mapping

from analytics.intake.cells.units import UNIT_WORDS

SET_WORDS = "set|satz|serie|series|s"
MOST_NUMBERED = 40

_ORDINAL = r"(?:st|nd|rd|th|a|o|e|er|re|ere|eme|de)?"
_PATTERNS = (
    (rf"(?:{SET_WORDS})\s?(?P<n>\d{{1,2}})\s?(?P<what>.*)"),
    (rf"(?P<n>\d{{1,2}})\s?{_ORDINAL}\s?(?:{SET_WORDS})\s(?P<what>.*)"),
    (rf"(?P<n>\d{{1,2}})\s?{_ORDINAL}\s(?:set|satz|serie)(?P<what>)"),
    (r"(?P<what>\D+?)\s?(?P<n>\d{1,2})"),
    (rf"(?P<what>.+?)\s(?:{SET_WORDS})\s?(?P<n>\d{{1,2}})"),
    (rf"(?P<what>.+?)\s(?P<n>\d{{1,2}})\s?{_ORDINAL}\s?(?:set|satz|serie)"),
)
_FIELDS = ("load", "added", "reps", "rir", "rpe", "role", "rest", "seconds", "failure", "note")


def numbered_field(
    name: str, unit: str | None, known: Mapping[str, str]
) -> tuple[str, str | None, int] | None:
    """(field, unit, number) of ``set 1 kg``, ``s1 reps``, ``w1``, ``reps 1``, ``1 satz gewicht``; else None.

    `name` is normal, without its unit, which is `unit`.
    """
    for pattern in _PATTERNS:
        found = re.fullmatch(pattern, name)
        if not found:
            continue
        number, what = int(found["n"]), found["what"].strip()
        field = None if what else {"kg": "load", "lb": "load", "s": "seconds"}.get(unit or "")
        field = field or _set_field(what, known)
        if field is not None and 1 <= number <= MOST_NUMBERED:
            return field, unit or UNIT_WORDS.get(what), number
    return None


def _set_field(what: str, known: Mapping[str, str]) -> str | None:
    if what in UNIT_WORDS or what in ("w", "wt", "g", "p", "c"):
        return "load"
    if what in ("r", "rp", "wh", "h"):
        return "reps"
    if what == "":
        return "work"
    field = known.get(what)
    return field if field in _FIELDS else None
