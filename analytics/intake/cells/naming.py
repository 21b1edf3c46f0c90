"""Marks in a logged exercise name: side, role and superset, taken out of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from analytics.intake.cells.plain import plain
from analytics.intake.cells.units import UNIT_WORDS
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.cells.words import parse_role, parse_side

_SUPERSET = re.compile(r"^\s*(?:([A-Ha-h])\s?\d\s*[.):\-]|([A-H])[1-4]\s)\s*(?=\S)")
_SWAPPED = re.compile(
    r"\s*[,(\[–-]?\s*\b(?:instead of|in place of|replac(?:es|ing)|(?:an)?statt|anstelle|en lugar de|en vez de"
    r"|au lieu d|invece di|al posto di|em vez d|no lugar d|in plaats van)\W?.*$",
    re.IGNORECASE,
)
"""What another exercise was done for; the one that was done stands before it."""
_TRAILING = re.compile(r"\s*(?:[(\[]\s*([^()\[\]]{1,24}?)\s*[)\]]|(?:\s[-–]\s|,\s)([^,–()]{1,24}?))\s*$")
_UNIT = re.compile(rf"\s*[(\[]\s*(?:{'|'.join(map(re.escape, UNIT_WORDS))})\s*[)\]]\s*$", re.IGNORECASE)
_ONE_SIDED = tuple(meanings("one_sided"))
_LONG_SIDES = {"l", "r", "lh", "rh", "dx", "sx", "li", "re"}
_BESIDE = {**meanings("side"), **meanings("side_letter")}
_LAST_WORD = re.compile(r"\s([^\W\d_]{2,}\.?)\s*$")


def paired_sides(names: Iterable[str]) -> dict[str, str]:
    """Name to the name with its side in brackets, ``Row - E`` to ``Row (left)``, if ``Row - D`` stands too.

    So are ``Row sx`` and ``Row dx``; a letter alone, ``Press E``, is no side.
    """
    found: dict[str, list[tuple[str, str, str]]] = {}
    for logged in names:
        last = _TRAILING.search(logged) or _LAST_WORD.search(logged)
        side = _BESIDE.get(plain(next(filter(None, last.groups())))) if last else None
        if last and side in ("left", "right"):
            name = logged[: last.start()].strip()
            found.setdefault(plain(name), []).append((logged, name, side))
    paired = [told for told in found.values() if len({side for _, _, side in told}) == 2]
    return {logged: f"{name} ({side})" for told in paired for logged, name, side in told}


@dataclass(frozen=True, slots=True)
class Marks:
    """A name and what stood beside it."""

    name: str
    side: str | None = None
    role: str | None = None
    superset: str | None = None


def split_name(logged: str) -> Marks:
    """``A1. Split squat (left)``: name ``Split squat``, side left, superset A; a unit is taken out."""
    name, side, role, superset = logged.strip(), None, None, None
    if found := _SUPERSET.match(name):
        superset = (found[1] or found[2]).upper()
        name = name[found.end() :]
    name = _SWAPPED.sub("", _UNIT.sub("", name)) or name
    for _ in range(2):
        found = _TRAILING.search(name)
        if not found or not name[: found.start()].strip():
            break
        word = found[1] or found[2]
        is_side = len(word) > 2 or word.lower() in _LONG_SIDES
        if is_side and side is None and parse_side(word)[0]:
            side = parse_side(word)[0]
        elif len(word) > 2 and role is None and parse_role(word)[0]:
            role = parse_role(word)[0]
        else:
            break
        name = name[: found.start()].strip()
    return Marks(name=name, side=side, role=role, superset=superset)


def says_one_sided(name: str) -> bool:
    """Whether a name says that the lift is done with one arm or leg, ``Single-arm row``."""
    words = f" {plain(name.replace('-', ' '))}"
    return any(f" {word}" in words for word in _ONE_SIDED)
