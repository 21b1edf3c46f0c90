"""Afterword: words behind the sets of a cell, ``5x5 @ 90, felt easy``, and lines that wish for sets."""

from __future__ import annotations

import re

from analytics.intake.cells.dates import MONTHS
from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.cells.words import is_failure, parse_role, parse_side

_BEHIND = re.compile(r"(?:\s*[,;.!]\s+|\s+-\s+|(?<=\))\s+)([^\W\d_][^\d@|>=+]{1,100})$")
_REST = re.compile(
    r"\s*[,;(-]?\s*\b((?:rests?|satzpause|pausen?|pausas?|repos|r[ée]cup(?:[ée]ration)?|recuperos?|rec|descansos?|desc|intervalo"
    r"|rust)\b\.?\s*:?\s*\d+(?:[.,:]\d+)?(?:\s?-\s?\d+)?\s?(?:s|secs?|sek|seg|sec|min|mn|minut\w*|'|\"|'')?)\s*\)?\.?$"
)
"""The pause behind the sets."""
_ALONE = re.compile(r"[^\w\s]+")
_ROLES = ("warm_up", "back_off", "drop", "rest_pause")
_ONLY = frozenset(
    ("a", "la", "de", "del", "il", "on", "the", "only", "side", "nur", "seite", "solo", "seulement", "so")
)


def _whole(kind: str, key: str | None = None) -> re.Pattern[str]:
    words = [word for word, meaning in meanings(kind).items() if key in (None, meaning)]
    return re.compile(rf"\b(?:{'|'.join(sorted(map(re.escape, words), key=len, reverse=True))})\b")


_DOUBT, _WANTED, _LATER = _whole("doubt"), _whole("wished", "wanted"), _whole("wished", "later")
_OTHERS = frozenset(word for word, role in meanings("role").items() if role != "working" and len(word) > 4)


@remembered
def split_afterword(text: str | None) -> tuple[str, str | None]:
    """(the sets, the remark behind them) of a tidied cell; no remark where its words may change the sets.

    So do words of a role, of a side alone, of failure, numbers in words, and what was not done or planned.
    """
    words = text or ""
    if (rest := _REST.search(words)) and rest.start():
        sets, remark = split_afterword(words[: rest.start()])
        return sets, "; ".join(filter(None, (remark, rest[1])))
    found = _BEHIND.search(words)
    if not found or not (words[found.start() - 1].isalnum() or words[found.start() - 1] in ")]*!"):
        return words, None
    said = plain(found[1]).strip(" ,;:!?)(")
    alone = _ALONE.sub(" ", said).split()
    if said in MONTHS or _DOUBT.search(said) or is_failure(said) or parse_role(said)[0] in _ROLES:
        return words, None
    sides = [word for word in alone if parse_side(word)[1] is None]
    if any(word in _OTHERS or is_failure(word) for word in alone) or (
        sides and not set(alone) - _ONLY - {*sides}
    ):
        return words, None
    return words[: found.start()], found[1].strip(" .,;")


def wished_for(text: str) -> str | None:
    """``wanted`` or ``later`` where a line begins with a wish, ``Wanted 130x1 but``, ``Next week:``."""
    words = _ALONE.sub(" ", plain(tidy(text)))
    words = " ".join(words.split())
    if _WANTED.match(words):
        return "wanted"
    return "later" if _LATER.match(words) else None
