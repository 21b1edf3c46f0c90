"""Entry: one line of a diary, ``Row 3x10 @ 60 kg``, to the exercise and its sets."""

from __future__ import annotations

import re

from analytics.intake.cells.loads import BODY
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.shorthand import LEAD, reads_as_sets
from analytics.intake.cells.spoken import in_signs, sides_at
from analytics.intake.cells.units import UNIT
from analytics.intake.cells.vocabulary import column_names
from analytics.intake.cells.words import parse_role
from analytics.intake.header.numbering import SET_WORDS

_START = rf"(?:w |(?:{BODY})(?:\b|(?=x\s?\d))|[+-]?\d|\(\d[^()]*[,;])"
_NAMED = re.compile(
    rf"\s*([^\W\d_].{{1,60}}?)\s*(?:[:;,|]|\s[-–]\s|\s)\s*({_START}.*)",
    re.IGNORECASE,
)
LABELLED = re.compile(r"\s*([^\W\d_][^:\d]{1,60}?)\s*:\s*(\S.*)")
_STARTS = re.compile(_START)
PAIRED = re.compile(r"\d\s*(?:[a-z#]{0,3}\s*)?[x@]|[x@]\s*\d")
LOADED = re.compile(rf"\d\s*(?:{UNIT})\b")
COUNTED = re.compile(r"\d[\d.]*(?:[\s,/]+\d[\d.]*)+|\d+(?:-\d+){2,}")
_UP_TO = re.compile(r"\s+(?:up to|bis(?: zu)?|hasta|jusqu'à|fino a|até|tot)$", re.IGNORECASE)
_SET_WORD = re.compile(rf"(?:{SET_WORDS})\.?")
_ORDINAL = re.compile(r"\d{1,2}\s?[:.)\-]\s")
_NO_LIFTS = frozenset((*column_names("sets")["rest"], *column_names("sets")["time"]))
"""Names before an amount that is no set's: a rest, the time of day."""
_WEIGHT_IN_NAME = re.compile(rf"(.+?)\s*[(\[]\s*([\d.,]+\s*(?:{UNIT}))\s*[)\]]", re.IGNORECASE)
_HELD = re.compile(r"\d\s*(?:s|secs?|sek|seg|min)\b|\b\d{1,2}:\d{2}\b")


def named(text: str) -> tuple[str | None, str | None]:
    """(exercise, sets) of a line; no exercise where it only holds sets, no sets where it only names."""
    if looks_like_sets(text):
        return None, text
    if (found := LABELLED.fullmatch(text)) and PAIRED.search(tidy(found[2])):
        return found[1], found[2]
    found = _NAMED.fullmatch(text)
    if not found or not looks_like_sets(found[2]):
        at = sides_at(text)
        told = at is not None and not any(c.isdigit() for c in text[:at])
        return (text[:at].rstrip(" :,-–|") or None, text[at:]) if told else (None, None)
    name, work = re.sub(r"\s+[x×/]$", "", found[1]), found[2]
    name = _UP_TO.sub("", name)
    if parse_role(name)[0]:
        return None, text
    if _SET_WORD.fullmatch(plain(name)):
        return None, text if _ORDINAL.match(work) else work
    if (own := _WEIGHT_IN_NAME.fullmatch(name)) and not LOADED.search(tidy(work)):
        return own[1], f"{work} @ {own[2]}"
    return name, work


def says_no_set(text: str) -> bool:
    """Whether a line is ``Rest 2 min`` or ``Duration: 65 min``."""
    found = _NAMED.fullmatch(text)
    if found is None or PAIRED.search(tidy(found[2])):
        return False
    name = plain(found[1])
    return name in _NO_LIFTS or (name in column_names("sets")["seconds"] and not reads_as_sets(found[2]))


def looks_like_sets(text: str) -> bool:
    """Whether a text begins as sets do and has their signs, read or not."""
    words = tidy(text)
    if not _STARTS.match(words):
        return False
    if (
        PAIRED.search(words)
        or PAIRED.search(in_signs(words))
        or LEAD.match(words)
        or LOADED.search(words)
        or COUNTED.fullmatch(in_signs(words).replace(";", ","))
    ):
        return True
    return bool(_HELD.search(words)) and reads_as_sets(text)
