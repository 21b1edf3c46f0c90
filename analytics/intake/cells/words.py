"""Words: role, side and failure cells as athletes write them, in seven languages."""

from __future__ import annotations

import re

from analytics.intake.cells.loads import EMPTY_WORDS
from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings

_ROLES = meanings("role")
_SIDES = meanings("side")
_ANSWERS = meanings("answer")
_SET_WORD = re.compile(
    r"(?:^(?:series?|sets?|satz)\s+(?:de |di |d |of )?|[\s-]?(?:sets?|satz|satze|series?)$)"
)


def is_failure(words: str) -> bool:
    """Whether a tidied text says that the set went to failure."""
    return _ANSWERS.get(plain(words)) == "failure"


@remembered
def parse_role(text: str | None) -> tuple[str | None, bool, str | None]:
    """(role, failure mark, problem) of a role cell: words or letters; an empty cell says nothing."""
    words = plain(tidy(text))
    if words in EMPTY_WORDS:
        return None, False, None
    if len(words) > 60:
        return None, False, "is not a role"
    bare = words.strip("()[]#.* 0123456789")
    for spelled in (words, bare, _SET_WORD.sub("", bare)):
        if spelled in _ROLES:
            return _ROLES[spelled], False, None
        if is_failure(spelled):
            return None, True, None
    parts = [part.strip() for part in re.split(r"[,;+/&]| and | - ", words) if part.strip()]
    roles = {_ROLES[part] for part in parts if part in _ROLES}
    failed = [part for part in parts if part not in _ROLES]
    if parts and len(roles) <= 1 and all(is_failure(part) for part in failed):
        return (roles.pop() if roles else None), bool(failed), None
    return None, False, "is not a role"


@remembered
def parse_failure(text: str | None) -> tuple[bool, str | None]:
    """(reached failure, problem) of a failure cell."""
    words = plain(tidy(text))
    if words in EMPTY_WORDS or _ANSWERS.get(words) == "no":
        return False, None
    return (True, None) if words in _ANSWERS else (False, "is neither yes nor no")


@remembered
def parse_answer(text: str | None) -> bool | None:
    """Yes or no as a tick says it; None where the text is neither."""
    answer = _ANSWERS.get(plain(tidy(text)))
    return answer == "yes" if answer in ("yes", "no") else None


@remembered
def parse_side(text: str | None) -> tuple[str | None, str | None]:
    """(left or right, problem) of a side cell; both sides is None."""
    words = plain(tidy(text)).strip("()[]. ")
    side = "both" if words in EMPTY_WORDS else _SIDES.get(words)
    if side is None:
        return None, "is not a side"
    return (None if side == "both" else side), None
