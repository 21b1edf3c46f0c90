"""Places: a known lift on another machine or in another gym, logged with the place in brackets."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from analytics.catalogue.exercise import Catalogue, Exercise
from analytics.catalogue.matching import EXACT, Matcher
from analytics.catalogue.naming import own_id, words

_PLACED = re.compile(r"^\s*(\S.*?)\s*(?:\(([^()]{1,40})\)|\[([^\[\]]{1,40})\]|@\s*(\S.{0,39}))\s*$")
_PLACE_WORDS = frozenset(
    {"gym", "home", "hotel", "travel", "machine", "floor", "club", "studio", "old", "new"}
)


def covering(catalogue: Catalogue, names: Iterable[str]) -> Catalogue:
    """The catalogue with an exercise of its own for each known lift that is logged with a place.

    The same number on another stack is another load, so ``Leg press (gym B)`` is no leg press; but it trains
    the same muscles and belongs to the same family, in which the two are read together.  Words in the
    brackets that tell one lift from another (``paused``, ``incline``) are no place: the name stays unknown.
    """
    found: dict[str, Exercise] = {}
    for name in sorted(set(names)):
        base = _base(catalogue.matcher, catalogue.exercises, name)
        if base is not None:
            placed = replace(base, id=own_id(name), name=" ".join(name.split()), names=())
            found[placed.id] = placed
    return replace(catalogue, exercises={**catalogue.exercises, **found}) if found else catalogue


def _base(matcher: Matcher, exercises: Mapping[str, Exercise], name: str) -> Exercise | None:
    split = _PLACED.match(name)
    if split is None or matcher.match(name).how == EXACT:
        return None
    lift, *places = split.groups()
    place = words(next(filter(None, places)))
    if not place or any(_of_the_trade(word, matcher) for word in place):
        return None
    base = matcher.match(lift)
    return exercises[base.exercise] if base.how == EXACT else None


def _of_the_trade(word: str, matcher: Matcher) -> bool:
    """Whether the word may make another lift of a name; a letter or number may not (gym B, machine 2)."""
    return len(word) > 1 and word not in _PLACE_WORDS and matcher.tells_apart(word)
