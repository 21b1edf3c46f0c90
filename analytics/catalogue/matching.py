"""Matching: a logged name to the one exercise it means, or to none."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

from rapidfuzz import process
from rapidfuzz.distance import OSA

from analytics.catalogue.naming import SYNONYM, VARIATION, own_id, tokens

CLOSE = 75.0
"""Least similarity (0 to 100, optimal string alignment) of a misspelt word to the word that is meant."""

COACH, LISTED, MADE = 2, 1, 0
"""Rank of a name: from the coach's file, from the catalogue, or made from a listed one and the equipment."""

_SHORTEST = 3  # a word of three letters may lack one; a shorter one says too little
_MARGIN = 0.1  # readings this much less similar than the best still count as possible
_MOST_READINGS = 64
_Key = TypeVar("_Key")


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
        """`named`: rows of name, exercise id and rank; ValueError if two exercises claim one name at one rank.

        A name of higher rank takes it from a lower one; a made name that two exercises claim belongs to none.
        """
        listed = [(tokens(spelt), *row) for row in named for spelt in _spellings(row[0])]
        self._exact = _index(((_key(words), *row) for words, *row in listed), strict=True)
        known = [
            (tuple(sorted(set(words))), name, exercise, MADE)
            for words, name, exercise, _ in listed
            if self._exact.get(_key(words)) == exercise
        ]
        self._bags = _index(known, strict=False)
        self._words = frozenset(word for words, *_ in known for word in words) | VARIATION
        self._vocabulary = sorted({*self._words, *SYNONYM})
        self._corrections = lru_cache(maxsize=65536)(self._near_words)

    def match(self, name: str) -> Match:
        """The exercise that `name` means; a name that means none keeps an id of its own."""
        logged = tokens(name)
        found = self._look_up(logged)
        if found:
            return Match(exercise=found, how="name", score=100.0)
        return self._close(logged) or Match(exercise=own_id(name), how="unknown", score=0.0)

    def _look_up(self, logged: tuple[str, ...]) -> str | None:
        if not logged:
            return None
        return self._exact.get(_key(logged)) or self._bags.get(tuple(sorted(set(logged))))

    def _close(self, logged: tuple[str, ...]) -> Match | None:
        """The one exercise that the corrected words name; None if there is none, or more than one."""
        choices = [self._corrections(word) for word in logged]
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
        if word in self._words:
            return [((word,), 100.0)]
        if len(word) < _SHORTEST or not word.isalpha():
            return []
        near = process.extract(
            word, self._vocabulary, scorer=OSA.normalized_similarity, score_cutoff=CLOSE / 100, limit=None
        )
        near = [(hit, score) for hit, score, _ in near if hit[0] == word[0] and len(hit) > _SHORTEST]
        return [
            (SYNONYM.get(hit, (hit,)), round(100 * score, 1))
            for hit, score in near
            if score >= near[0][1] - _MARGIN
        ]


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
