"""Matching: a logged name to the one exercise it means, or to none."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from analytics.catalogue.naming import own_id, tokens

CLOSE = 75.0
"""Least similarity (0 to 100, optimal string alignment) of a misspelt word to the word that is meant."""

_SHORTEST = 4
# Words of the trade that name a variation: never taken for a misspelling of another word.
_VARIATIONS = frozenset(
    "paused pause tempo slow fast half quarter full deep pin box board floor block banded band chain deficit "
    "rack spoto pendulum assisted weighted narrow wide close neutral supinated pronated reverse isometric "
    "eccentric concentric partial cluster myo hook strap belt belted heel elevated foot feet toe knee kneeling "
    "low high mid upper lower inner outer vertical horizontal guided plate loaded gym home hotel travel "
    "abduction adduction flexion extension".split()
)


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

    def __init__(self, named: Iterable[tuple[str, str, bool]]) -> None:
        """`named`: rows of name, exercise id, and whether the name is the file's own (else made up from it)."""
        self._own: dict[str, str] = {}
        made: dict[str, set[str]] = {}
        bags: dict[tuple[str, ...], set[str]] = {}
        listed = list(named)
        for name, exercise, own in listed:
            for variant in _spellings(name):
                key = _key(tokens(variant))
                if own:
                    other = self._own.setdefault(key, exercise)
                    if other != exercise:
                        raise ValueError(f"{name!r} names both {other} and {exercise}")
                else:
                    made.setdefault(key, set()).add(exercise)
        self._exact = {key: next(iter(ids)) for key, ids in made.items() if len(ids) == 1} | self._own
        for name, exercise, _ in listed:
            for variant in _spellings(name):
                if self._exact.get(_key(tokens(variant))) == exercise:
                    bags.setdefault(tuple(sorted(set(tokens(variant)))), set()).add(exercise)
        self._bags = {bag: next(iter(ids)) for bag, ids in bags.items() if len(ids) == 1}
        self._vocabulary = sorted({word for bag in bags for word in bag})
        self._words = frozenset(self._vocabulary) | _VARIATIONS
        self._correct = lru_cache(maxsize=65536)(self._correct_word)

    @property
    def names(self) -> Mapping[str, str]:
        """Normal form of every listed name to its exercise."""
        return self._own

    def match(self, name: str) -> Match:
        """The exercise that `name` means; a name that means none keeps an id of its own."""
        logged = tokens(name)
        found = self._look_up(logged)
        if found:
            return Match(exercise=found, how="name", score=100.0)
        corrected, score = self._corrected(logged)
        if corrected:
            found = self._look_up(corrected)
            if found:
                return Match(exercise=found, how="spelling", score=score)
        return Match(exercise=own_id(name), how="unknown", score=0.0)

    def _look_up(self, logged: tuple[str, ...]) -> str | None:
        return self._exact.get(_key(logged)) or self._bags.get(tuple(sorted(set(logged))))

    def _corrected(self, logged: tuple[str, ...]) -> tuple[tuple[str, ...], float]:
        pairs = [self._correct(word) for word in logged]
        if not pairs or any(word is None for word, _ in pairs):
            return (), 0.0
        return tuple(str(word) for word, _ in pairs), min(score for _, score in pairs)

    def _correct_word(self, word: str) -> tuple[str | None, float]:
        if word in self._words:
            return word, 100.0
        if len(word) < _SHORTEST or not word.isalpha():
            return None, 0.0
        near = process.extract(
            word,
            self._vocabulary,
            scorer=OSA.normalized_similarity,
            score_cutoff=CLOSE / 100,
            limit=None,
        )
        near = [hit for hit in near if hit[0][0] == word[0] and len(hit[0]) >= _SHORTEST]
        if not near or (len(near) > 1 and near[0][1] == near[1][1]):
            return None, 0.0
        return near[0][0], round(100 * near[0][1], 1)


def _key(logged: tuple[str, ...]) -> str:
    # Without spaces, so that "leg press" and "legpress" are one name.
    return "".join(logged)


def _spellings(name: str) -> set[str]:
    # German writes an umlaut as a vowel with e where the keyboard has none.
    spelt = name.casefold().replace("ä", "ae").replace("ö", "oe").replace("ü", "ue")
    return {name, spelt}
