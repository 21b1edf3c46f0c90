"""Numbering: the names of columns that hold one of several sets of a row."""

from __future__ import annotations

import re
from collections.abc import Mapping

from analytics.intake.cells.units import UNIT_WORDS
from analytics.intake.cells.vocabulary import meanings

SET_WORDS = "set|satz|serie|series|s"
MOST_NUMBERED = 40

_AS_ORDINAL = r"(?:st|nd|rd|th|ma|ta|da|ra|a|o|e|er|re|ere|eme|de|ste)"
_ORDINAL = rf"{_AS_ORDINAL}?"
_BARE_ORDINAL = rf"(?P<n>\d{{1,2}}){_AS_ORDINAL}(?P<what>)"
"""The name ``1st kg`` without its unit."""
_PATTERNS = (
    (rf"(?:{SET_WORDS})\s?(?P<n>\d{{1,2}})\s?(?P<what>.*)"),
    (rf"(?P<n>\d{{1,2}})\s?{_ORDINAL}\s?(?:{SET_WORDS})\s(?P<what>.*)"),
    (rf"(?P<n>\d{{1,2}})\s?{_ORDINAL}\s(?:set|satz|serie)(?P<what>)"),
    (rf"(?P<n>\d{{1,2}}){_AS_ORDINAL}\s(?P<what>.+)"),
    _BARE_ORDINAL,
    (rf"(?P<what>\D+?)\s(?P<n>\d{{1,2}}){_AS_ORDINAL}"),
    (r"(?P<what>\D+?)\s?(?P<n>\d{1,2})"),
    (rf"(?P<what>.+?)\s(?:{SET_WORDS})\s?(?P<n>\d{{1,2}})"),
    (rf"(?P<what>.+?)\s(?P<n>\d{{1,2}})\s?{_ORDINAL}\s?(?:set|satz|serie)"),
)
_FIELDS = ("load", "added", "reps", "rir", "rpe", "role", "rest", "seconds", "failure", "note")
_OF_ROLES = ("load", "added", "reps", "rir", "rpe")
_ROLES = ("warm_up", "working", "back_off", "drop")
_OTHERWISE = ("serie", "back", "regular", "normal")
"""Words for a role that say something else in the name of a column."""
ROLE_LABELS = {
    word.replace("-", " ").replace("_", " "): role
    for word, role in meanings("role").items()
    if role in _ROLES and word not in _OTHERWISE and (len(word) > 3 or word == "wu")
}
"""Words that name sets by their role, such as ``warm up``, ``top set`` or ``drop``."""


def role_field(
    name: str, unit: str | None, known: Mapping[str, str]
) -> tuple[str, str | None, int, str] | None:
    """(field, unit, number, role's word) of ``warm up kg``, ``wu2 reps``, ``drop set 1 kg``; else None.

    `name` is normal, without its unit, which is `unit`.  Without a number it is the first.
    """
    words = re.sub(r"(?<=[^\W\d])(?=\d)", " ", name).split()
    for size in range(min(4, len(words)), 0, -1):
        for label, rest in ((words[:size], words[size:]), (words[-size:], words[:-size])):
            role = " ".join(label)
            if role not in ROLE_LABELS:
                continue
            numbers = [int(word) for word in rest if word.isdigit()]
            what = " ".join(word for word in rest if not word.isdigit() and word not in SET_WORDS.split("|"))
            field = "load" if not what and unit in ("kg", "lb") else _set_field(what, known)
            if field not in _OF_ROLES or len(numbers) > 1:
                return None
            return field, unit or UNIT_WORDS.get(what), (numbers or [1])[0], role
    return None


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
        if found.re.pattern == _BARE_ORDINAL and unit not in ("kg", "lb"):
            continue
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
