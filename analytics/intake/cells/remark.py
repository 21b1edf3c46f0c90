"""Remark: cells that open a total or a comment, which are no sets, and what a comment says of the unit."""

from __future__ import annotations

import re
from collections.abc import Collection
from functools import lru_cache

from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.units import UNIT_WORDS
from analytics.intake.cells.vocabulary import meanings

_SUMMARY = meanings("summary")


def _any(*kinds: str) -> str:
    return "|".join(re.escape(word) for word, kind in _SUMMARY.items() if kind in kinds)


_OF, _WHAT = rf"(?: (?:{_any('of')}))*", rf"(?: (?:{_any('what')}))"
_TOTAL = re.compile(rf"(?:{_any('sum', 'mean')}){_OF}(?:{_WHAT}{_OF})*(?:\s*[:=].*|[\s\d.,/-]*(?:kg|lbs?)?)")
_BEST = re.compile(rf"(?:(?:{_any('best')}){_OF}{_WHAT}|(?:{_any('alone')}))(?:{_OF}{_WHAT})*")
_OF_LIFT = re.compile(rf"(?:{_any('sum')}){_OF}\W+(\S.*)")
_ERROR = re.compile(r"#(?:[¡¿]?[a-z/0]+[!?]|n/?[avd]|n/b|#+)")
"""What a spreadsheet writes where it has no value, ``#REF!`` or ``####``: a broken cell, no comment."""
_TOTAL_LAST = re.compile(rf"\S.* \(?(?:{_any('sum')})\)?\s*:?")
_CLAUSE = re.compile(r"[^\w\s/]+")
_OWN = re.compile(r"\b(?:body|korper|corp|goal|target|ziel|lost|gain|weigh(?:ed)?\b|gewogen)")
_FROM_HERE = re.compile(rf"\b(?:{'|'.join(meanings('from_here'))})\b")
_LONGEST = 120


def is_error(text: str) -> bool:
    """Whether a cell is what a spreadsheet writes for a value it has not, ``#NAME?``."""
    return text[:1] == "#" and bool(_ERROR.fullmatch(plain(tidy(text[:80]))))


@lru_cache(maxsize=65536)
def is_remark(text: str) -> bool:
    """Whether a cell opens a total or a comment row."""
    words = plain(tidy(text[:80]))
    comment = words.startswith(("//", "# ", "##")) or (words.startswith("#") and len(words) > 4)
    if comment and is_error(text):
        return False
    if comment or _TOTAL.fullmatch(words) or _TOTAL_LAST.fullmatch(words):
        return True
    return declared_unit(text) is not None


def sums_up(text: str, names: Collection[str]) -> bool:
    """Whether the name of a lift sums others up, as ``Total squat`` beside ``Squat``, or ``Best of day``.

    `names`: all of its column, as `plain` makes them.
    """
    words = plain(tidy(text[:_LONGEST]))
    lift = _OF_LIFT.fullmatch(words)
    return (lift is not None and lift[1].rstrip(")") in names) or _BEST.fullmatch(words) is not None


def declared_unit(text: str) -> str | None:
    """The unit of load that a line declares for what follows, ``From here on all weights in lb``.

    A clause names it and says from here, now, all or again; it is no amount, and nobody's own weight.
    """
    words = plain(tidy(text[:_LONGEST]))
    if not _FROM_HERE.search(words) or _OWN.search(words):
        return None
    for clause in _CLAUSE.split(words):
        if _FROM_HERE.search(clause) and not any(c.isdigit() for c in clause):
            units = {UNIT_WORDS[word] for word in clause.split() if len(word) > 1 and word in UNIT_WORDS}
            if len(units) == 1:
                return units.pop()
    return None
