"""Matching: a logged name to the one exercise it means, or to none."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from rapidfuzz import process
from rapidfuzz.distance import OSA

from analytics.catalogue.naming import SYNONYM, VARIATION, own_id, tokens

CLOSE = 75.0
"""Least similarity (0 to 100, optimal string alignment) of a misspelt word to the word that is meant."""

COACH, LISTED, MADE = 2, 1, 0
"""Rank of a name: from the coach's file, from the catalogue, or made from a listed one and the equipment."""

_SHORTEST = 3  # a word of three letters may lack one; a shorter one says too little
_LONG = 7  # from this length on, the first letter may be the wrong one
_MOST_EDITS = 2
_MARGIN = 0.1  # readings this much less similar than the best still count as possible
_MOST_READINGS = 64
# Abduction and adduction, in seven languages: the letters that tell them apart are never corrected.
_AB_OR_AD = re.compile(r"a[bd]+u")
_Key = TypeVar("_Key")
# An abbreviation is one letter away from another lift: it is matched as it stands or not at all.
_WRITTEN_OUT = re.compile(r"^(?!oh)(?=.*[aeiouy]).{4}")

EXACT = "name"
"""How a name was matched when it is one of the exercise's own."""


@dataclass(frozen=True, kw_only=True)
class Match:
    """What a name means: exercise id, `how` (name, spelling, unknown) and `score`, 0 to 100."""

    exercise: str
    how: str
    score: float


class Matcher:
    """Index of all names: exact normal form, then the same words in any order, then close spelling.

    Close spelling corrects single words to words that occur in catalogue names, and then asks for an exact
    match again.  A word of the trade is never corrected to another one, so that hip abduction does not become
    hip adduction, though they differ by one letter.
    """

    def __init__(self, named: Iterable[tuple[str, str, int]]) -> None:
        """`named`: rows of name, exercise id and rank.

        A name of higher rank takes it from a lower one; a made name that two exercises claim belongs to none.
        ValueError if two exercises claim one name at one higher rank.
        """
        listed = [(tokens(spelt), *row) for row in named for spelt in _spellings(row[0])]
        self._exact = _index(
            ((_key(words), name, exercise, rank) for words, name, exercise, rank in listed), strict=True
        )
        known = [
            (tuple(sorted(set(words))), name, exercise, MADE)
            for words, name, exercise, _ in listed
            if self._exact.get(_key(words)) == exercise
        ]
        self._bags = _index(known, strict=False)
        self._words = frozenset(word for words, *_ in known for word in words) | VARIATION
        self._vocabulary = sorted(word for word in {*self._words, *SYNONYM} if _WRITTEN_OUT.search(word))
        self._seen: dict[str, list[tuple[tuple[str, ...], float]]] = {}

    def match(self, name: str) -> Match:
        """The exercise that `name` means; a name that means none keeps an id of its own."""
        logged = tokens(name)
        found = self._look_up(logged)
        if found:
            return Match(exercise=found, how=EXACT, score=100.0)
        return (
            self._said_twice(name)
            or self._close(logged)
            or Match(exercise=own_id(name), how="unknown", score=0.0)
        )

    def tells_apart(self, word: str) -> bool:
        """Whether the word is one of the trade, which may make another lift of a name."""
        return word in self._words

    def _look_up(self, logged: tuple[str, ...]) -> str | None:
        if not logged:
            return None
        return self._exact.get(_key(logged)) or self._bags.get(tuple(sorted(set(logged))))

    def _said_twice(self, name: str) -> Match | None:
        """``Pec deck / Butterfly``: two names of one exercise."""
        parts = name.split("/")
        found = {self._look_up(tokens(part)) for part in parts}
        exercise = found.pop()
        return (
            Match(exercise=exercise, how=EXACT, score=100.0)
            if len(parts) > 1 and exercise and not found
            else None
        )

    def _close(self, logged: tuple[str, ...]) -> Match | None:
        """The one exercise that the corrected words name; None if there is none, or more than one."""
        choices = [self._near_words(word) for word in logged]
        if not choices or math.prod(len(words) for words in choices) > _MOST_READINGS:
            return None
        found: dict[str, float] = {}
        for reading in itertools.product(*choices):
            exercise = self._look_up(tuple(part for words, _ in reading for part in words))
            if exercise:
                found[exercise] = max(found.get(exercise, 0.0), min(score for _, score in reading))
        if len(found) != 1:
            return None
        exercise, score = found.popitem()
        return Match(exercise=exercise, how="spelling", score=score)

    def _near_words(self, word: str) -> list[tuple[tuple[str, ...], float]]:
        """Words that `word` may stand for, written out, each with its similarity, 0 to 100."""
        if word not in self._seen:
            self._seen[word] = self._search(word)
        return self._seen[word]

    def _search(self, word: str) -> list[tuple[tuple[str, ...], float]]:
        if word in self._words:
            return [((word,), 100.0)]
        if len(word) < _SHORTEST or not word.isalpha():
            return []
        near = process.extract(
            word, self._vocabulary, scorer=OSA.distance, score_cutoff=_MOST_EDITS, limit=None
        )
        alike = [
            (hit, 1 - edits / max(len(hit), len(word))) for hit, edits, _ in near if _may_be(hit, word, edits)
        ]
        least = max([CLOSE / 100, *(likeness - _MARGIN for _, likeness in alike)])
        return [
            (SYNONYM.get(hit, (hit,)), round(100 * likeness, 1))
            for hit, likeness in alike
            if likeness >= least
        ]


def _may_be(meant: str, logged: str, edits: int) -> bool:
    sides = _AB_OR_AD.match(meant), _AB_OR_AD.match(logged)
    if any(sides):
        heads = [side[0] if side else "" for side in sides]
        return heads[0] == heads[1] != "adu"  # which may be either with a letter lost
    return meant[0] == logged[0] or (edits == 1 and min(len(meant), len(logged)) >= _LONG)


def _index(rows: Iterable[tuple[_Key, str, str, int]], *, strict: bool) -> dict[_Key, str]:
    claims: dict[_Key, dict[int, dict[str, str]]] = {}
    for key, name, exercise, rank in rows:
        claims.setdefault(key, {}).setdefault(rank, {}).setdefault(exercise, name)
    index = {}
    for key, by_rank in claims.items():
        rank = max(by_rank)
        owners = by_rank[rank]
        if len(owners) == 1:
            index[key] = next(iter(owners))
        elif strict and rank > MADE:
            name = next(iter(owners.values()))
            raise ValueError(f"the name {name!r} is given to {' and to '.join(sorted(owners))}")
    return index


def _key(logged: tuple[str, ...]) -> str:
    # Without spaces, so that "leg press" and "legpress" are one name.
    return "".join(logged)


def _spellings(name: str) -> set[str]:
    # German writes an umlaut as a vowel with e where the keyboard has none.
    spelt = name.casefold().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
    return {name, spelt}
