"""Words: role, side and failure cells as athletes write them, in seven languages."""

from __future__ import annotations

import re
from collections.abc import Iterable

from analytics.intake.cells.loads import EMPTY_WORDS
from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings

_ROLES = meanings("role")
_SIDES = meanings("side")
_ANSWERS = meanings("answer")
_AROUND = "()[]#.* 0123456789"
"""Signs that may stand around a word for a role."""
_NOTED = re.compile(
    r"warm|aufw|calent|echauff|riscald|aquec|drop|back.?off|rest.?pause|descend|degress|decresc|abwurf|reduktion|strip|afval"
)
_SET_WORD = re.compile(
    r"(?:^(?:(?:series?|sets?|satz)\s+(?:de |di |d |of )?|(?:de|di|da|do|d|zum|zur)\s+)"
    r"|[\s-]?(?:sets?|satz|satze|series?)$)"
)
_REASON = re.compile(r"\s*[,;:(]|\s+-\s")
"""What opens the reason behind a yes or no: ``no, sore knee``."""
_NOT = re.compile(r"^(?:not|nicht|no|non|pas|nao|niet)\s+(?=\S{3})")


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
    bare = words.strip(_AROUND)
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


def parse_roles(texts: Iterable[str], *, filled: bool) -> dict[str, tuple[str | None, bool, str | None]]:
    """`parse_role` of all role cells of a file: ``W`` is a warm-up, unless another word is.

    Nor is it one in a column that is `filled` in every row and has no other word for a working set.
    """
    found = {text: parse_role(text) for text in texts}
    letters = [text for text in found if plain(tidy(text)).strip(_AROUND) == "w"]
    others = [found[text] for text in found if text not in letters]
    trains = any(role in ("working", None) for role, _, _ in others)
    if any(role == "warm_up" for role, _, _ in others) or (filled and not trains):
        found |= dict.fromkeys(letters, ("working", False, None))
    return found


@remembered
def role_of_note(text: str | None) -> str | None:
    """The role that one part of a note is in full, ``drop set; belt``, else None."""
    words = plain(tidy(text))
    said = [parse_role(part)[0] for part in re.split(r"[;,](?=\s)", words[:60]) if _NOTED.search(part)]
    return said[0] if len(said) == 1 else None


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
    words = plain(tidy(text))
    answer = _ANSWERS.get(words)
    if answer is None and not words[:1].isdigit() and (reason := _REASON.search(words)):
        answer = _ANSWERS.get(words[: reason.start()])
    if answer is None and (rest := _NOT.sub("", words)) != words:
        return False if _ANSWERS.get(rest) == "yes" else None  # ``not done``
    return answer == "yes" if answer in ("yes", "no") else None


@remembered
def parse_side(text: str | None) -> tuple[str | None, str | None]:
    """(left or right, problem) of a side cell; both sides is None."""
    words = plain(tidy(text)).strip("()[]. ")
    side = "both" if words in EMPTY_WORDS else _SIDES.get(words)
    if side is None:
        return None, "is not a side"
    return (None if side == "both" else side), None
