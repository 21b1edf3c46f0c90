"""Spoken: the words of a cell of sets, such as ``3 sets of 8, then left 10 right 9``, in signs."""

from __future__ import annotations

import re

from analytics.intake.cells.item import AT
from analytics.intake.cells.reps import NUMBER
from analytics.intake.cells.units import UNIT
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.cells.words import parse_role


def _any(words: list[str]) -> str:
    return "|".join(sorted(map(re.escape, words), key=len, reverse=True))


_JOINTS, _SIDES = meanings("joint"), meanings("side")
_THEN = _any([word for word, kind in _JOINTS.items() if kind == "then"])
_AND = _any([word for word, kind in _JOINTS.items() if kind == "and"])
_NEXT = re.compile(
    rf"\s*[,;]?\s*\b(?:(?:{_AND})\s+)?(?:{_THEN})\b\s*[:,]?\s*|(?<=[\dg)bs])\s+(?:{_AND})\s+(?=[+-]?\d)"
)
ARROW = re.compile(r"\s*(?:[-=~]*>+|[→⇒⇨⟶⟹➔➙➛➜➝➞➡➤▶►▸›»↘⤵↓⇓⬇↧⬊])+\s*")
_RISING = re.compile(r"\s*[↑⇑⬆↗⤴]+\s*|\s+<\s+")
_ROUND = r"(?:rounds?|runden?|rondas?|tours?|giri|giro|voltas?|rondes?|waves?|wellen?|ladders?|leitern?)"
_SEVERAL_SETS = r"\(([^()]*\d\s?[,;/x-]\s?\d[^()]*)\)"
_ROUNDS = re.compile(
    rf"(?<![\w.,])([1-9])\s?(?:x|{_ROUND})(?:\s(?:of|de|di|von|van))?\s?:?\s?{_SEVERAL_SETS}(?!\s?(?:x|@)\s?\d)"
)
_ROUNDS_LAST = re.compile(rf"{_SEVERAL_SETS}\s?x\s?([1-9])(?:\s{_ROUND})?(?!\s?[\d.,x])")
_AS_MANY = re.compile(r"(?<![\d.,])(\d)\s?x\s?(?:max|amrap)\.?\s?[:(]\s?(\d{1,3}(?:\s?[,/-]\s?\d{1,3})+)\)?$")
_DROP_TO = re.compile(r"\s*[,;+]?\s+(?:drop(?: ?set)?(?: to)?|ds)\s+(?=\d)")
_LEAD = re.compile(r"([^\W\d_][^\d:@]{1,24}?)\s*[:.\-]?\s*(?=\d)")
_LIGHTER = re.compile(rf"\s*(?:[;/+|&]|,\s)\s*(?={NUMBER}\s*(?:{UNIT})?\s*x)")
_SEVERAL = re.compile(rf">|{_LIGHTER.pattern}")
_SETS_OF = re.compile(
    r"(\d)\s*(?:sets?|satze|sätze|series|séries|serie)"
    r"\s*(?:of|x|de|à|a|von|di|da|van|met|con|mit)?\s*(?=\d)"
)
_ONLY_SETS_OF = re.compile(rf"{_SETS_OF.pattern}(\d{{1,3}})(?:\s*(?:reps?|wdh|rip|repes))?\.?")
_REPS_WORD = re.compile(
    r"(\d)\s*(?:reps?|repetitions|wiederholungen|wdh|répétitions|repeticiones|ripetizioni|repetições|herhalingen)"
    r"\.?(?=\s*(?:@|x|\d|rpe\b|rir\b|at\b|with\b|mit\b|con\b|avec\b|com\b|met\b|,|;|$))"
)
_WEIGHT = rf"(?:2\s?x\s?)?{NUMBER}\s?(?:{UNIT})"
_SETS_ONLY = r"(?:[1-9]\s?x\s?\d{1,3}|\d{1,3}(?:\s?[,/-]\s?\d{1,3}){2,})"
_WEIGHT_APART = re.compile(rf"\(?({_SETS_ONLY})(?!\d)\)?\s*(?:[,;|/]|-(?!\d))?\s*\(?({_WEIGHT})\)?")
_SETS_APART = re.compile(
    rf"({_WEIGHT})\s*(?:[,;|/]\s?|-(?!\d)\s?|(?=\())\(?({_SETS_ONLY})\)?((?:\s[^\d@]+)?)"
)
_LOAD_THEN_REPS = re.compile(rf"({NUMBER}\s*(?:{UNIT}))\s*,\s*(\d{{1,3}}\s*(?:reps?|wdh|wiederholungen))\b")
_WORD = _any([word for word, side in _SIDES.items() if side != "both" and word.isalpha()])
_HELD = r"(?:\s?(?:secs?|sek|seg|s)\b)?"
_ONE = rf"(\d{{1,3}}{_HELD})(?!\d|[.,]\d|\s?x)"
_BETWEEN = rf"\s*[,/;|&+-]?\s*(?:(?:{_AND})\s+)?"
_SIDED = (
    re.compile(rf"\b({_WORD})\s*[:.=]?\s*{_ONE}{_BETWEEN}\b({_WORD})\s*[:.=]?\s*{_ONE}"),
    re.compile(
        rf"(?<![\d.,])(\d{{1,3}}{_HELD})\s*({_WORD})\b\.?{_BETWEEN}(\d{{1,3}}{_HELD})\s*({_WORD})\b\.?"
    ),
)
_COMMA_AT = re.compile(r"\s*,\s*(?=@)")
_LIST = r"\d{1,3}(?:(?:, ?| )\d{1,3})+"
_LIST_AT = re.compile(rf"({_LIST})(?= ?(?:{AT}) ?[+-]?{NUMBER} ?(?:{UNIT})$)")
_LOAD_LIST = re.compile(rf"({NUMBER} ?(?:{UNIT})) ?(?::|x|for) ?({_LIST})")


def in_signs(words: str) -> str:
    """A tidied cell of sets in signs: ``;`` between sets, ``>`` before a drop, ``10l/9r`` for two sides."""
    words = _RISING.sub("; ", ARROW.sub(" > ", words))
    words = _AS_MANY.sub(_listed, words)
    words = _ROUNDS.sub(_again, _ROUNDS_LAST.sub(r"\2x(\1)", words))
    for pattern in _SIDED:
        words = pattern.sub(_both_sides, words)
    words = _NEXT.sub("; ", words)
    if (
        (lead := _LEAD.match(words))
        and _SEVERAL.search(words, lead.end())
        and parse_role(lead[1])[0] == "drop"
    ):
        words = _LIGHTER.sub(" > ", words[lead.end() :])  # the first of them is no drop yet
    words = _COMMA_AT.sub(" ", _DROP_TO.sub(" > ", words))
    words = _LOAD_THEN_REPS.sub(r"\1 x \2", words)
    if (counted := _ONLY_SETS_OF.fullmatch(words)) and int(counted[1]) > 1:
        return ",".join([counted[2]] * int(counted[1]))
    words = _SETS_OF.sub(r"\1x", words)
    words = _REPS_WORD.sub(r"\1", words)
    if found := _WEIGHT_APART.fullmatch(words):
        words = f"{found[1]} @ {found[2]}"
    elif found := _SETS_APART.fullmatch(words):
        words = f"{found[2]}{found[3]} @ {found[1]}"
    if found := _LIST_AT.match(words) or _LOAD_LIST.fullmatch(words):
        # 8, 8, 7 at 75 kg; 75 kg: 8 8 7
        words = words.replace(found[found.lastindex or 1], re.sub(", ?| ", ",", found[found.lastindex or 1]))
    return words


def sides_at(text: str) -> int | None:
    """Where ``Side plank L40s R35s`` begins to count both sides; None where it does not."""
    spans = [
        found.start() for p in _SIDED if (found := p.search(text.lower())) and _both_sides(found) != found[0]
    ]
    return min(spans) if spans and len(text.lower()) == len(text) else None


def _both_sides(found: re.Match[str]) -> str:
    """``li 12 / re 11`` as ``12l/11r``, in the order it was done in."""
    told = [(number, _SIDES[word]) for number, word in map(sorted, (found.groups()[:2], found.groups()[2:]))]
    if told[0][1] == told[1][1]:
        return found[0]
    return "/".join(f"{re.sub('[ceg ]', '', number)}{side[0]}" for number, side in told)


def _again(found: re.Match[str]) -> str:
    """``2x (40x6, 45x4)`` as its sets twice."""
    return "; ".join([found[2].strip()] * int(found[1]))


def _listed(found: re.Match[str]) -> str:
    """``3x max (8, 6, 5)`` as ``8,6,5``."""
    reps = re.findall(r"\d+", found[2])
    return ",".join(reps) if len(reps) == int(found[1]) and not found.start() else found[0]
