"""Sides: the words and letters for left and right in the names of columns."""

from __future__ import annotations

from analytics.intake.cells.vocabulary import meanings

SIDES = meanings("side_in_header")
SIDE_LETTERS = {letter: side for letter, side in meanings("side_letter").items() if letter not in SIDES}
"""Letters that say a side only where the other one stands in the name of another column."""
LETTERS = {**SIDE_LETTERS, "l": "left", "r": "right"}
_EITHER = {**meanings("side"), **SIDES, **LETTERS}


def side_order(name: str) -> tuple[str | None, str]:
    """(the side named first, the other words) of a normal name such as ``reps l r`` or ``d i reps``.

    The side is None, and the words are none, where a name does not say both.
    """
    words = name.split()
    for pair, rest in ((words[-2:], words[:-2]), (words[:2], words[2:])):
        sides = [_EITHER.get(word) for word in pair]
        if rest and set(sides) == {"left", "right"}:
            return sides[0], " ".join(rest)
    return None, ""
