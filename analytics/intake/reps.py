"""Reps: one cell's text to the repetitions, or the seconds, of a single set."""

from __future__ import annotations

import re

from analytics.intake.loads import EMPTY_WORDS
from analytics.intake.numbers import parse_number, tidy
from analytics.intake.shorthand import MOST_REPS, Piece, parse_reps_list

_WORD = re.compile(r"(?<=\d)\s*(?:reps?\.?|wdh\.?|whd\.?|rip\.?|rep[eé]s\.?|hh\.?|x)$")
_FAILED = re.compile(r"(?<=\d)\s*(?:f|!|\*|to failure|failure|al fallo|bis versagen)$")


def parse_reps(text: str | None) -> tuple[Piece, str | None]:
    """(set, problem) of a reps cell; an empty cell is a set without reps.  A mark for failure is RIR 0."""
    words = tidy(text)
    if words in EMPTY_WORDS:
        return Piece(), None
    failed = _FAILED.search(words)
    if failed:
        words = words[: failed.start()]
    words = _WORD.sub("", words)
    rir = 0.0 if failed else None
    number = parse_number(words, "point")
    if number is not None:
        if number < 0:
            return Piece(), "is below zero"
        if number > MOST_REPS:
            return Piece(), f"is more than {MOST_REPS} reps"
        if number != int(number):
            return Piece(), "is not a whole number"
        return Piece(reps=int(number), rir=rir), None
    pieces = parse_reps_list(words)
    if isinstance(pieces, str):
        return Piece(), pieces
    if len(pieces) > 1:
        return Piece(), "holds several sets"
    return pieces[0], None
