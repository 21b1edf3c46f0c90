"""Loads: one cell's text to a load with its unit, or the reason why it is none."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from analytics.intake.cells.dayline import is_day
from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import parse_number, tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.units import UNIT, UNIT_WORDS
from analytics.intake.cells.vocabulary import meanings
from analytics.schema import KG_PER_LB

HIGHEST_LOAD_KG = 1000
SAME_LOAD = 0.015
"""Two loads that differ by no more than this share may be one load in kg and in lb, each rounded."""

BODYWEIGHT_WORDS = (
    *("bodyweight", "body weight", "body-weight", "body", "bw", "own weight"),
    *("körpergewicht", "koerpergewicht", "eigengewicht", "eigenes gewicht", "peso corporal", "corporal"),
    *("poids du corps", "poids de corps", "pdc", "peso corporeo", "corpo libero", "peso do corpo"),
    *(
        "pc",
        "p.c.",
        "b.w.",
        "b/w",
        "bodyw",
        "eigengew",
        "eigengew.",
        "körpergew.",
        "peso del cuerpo",
        "peso propio",
    ),
    *("lichaamsgewicht", "eigen gewicht"),
)
EMPTY_WORDS = ("", "-", "--", "---", "n/a", "na", "none", "null", "nil", "/", ".", "nan")

_UNLOADED = frozenset(meanings("no_load"))
"""Words for no load at all, which are an empty cell."""

_IS_A_BAND = "is a band, whose pull is not a load: leave the cell empty, or write its help as BW-20"

_IS_A_SHARE = "is a share of a maximum, not a load: write what was lifted, such as 80 kg"

IS_A_DAY = (
    "is a date, which a spreadsheet may have made of what was typed: give its column the format of text"
)

_IS_A_PLATE = "counts plates of a stack: write what they weigh, such as 35 kg"

_LONGEST = 60
BODY = "|".join(sorted(map(re.escape, BODYWEIGHT_WORDS), key=len, reverse=True))
"""Pattern of the words for bodyweight, the longest first."""
_HELD = (
    r"(?:hand|arm|mano|main|m[aã]o|dbs?|kbs?|kh|dumbbells?|kettlebells?|(?:kurz)?hanteln?|mancuernas?"
    r"|halt[eè]res?|manubri[o]?|halters?)"
)
PER_HAND = rf"(?:per|pro|je|par|por|cada|each|elke?|/)\s*{_HELD}"
"""Pattern of a load that is held in each hand."""
_EACH = rf"(?:{PER_HAND}|each|ea\.?|je|cada|chacun|ciascuno|elk)"
_N = r"\d(?:[\d.,' ]*\d)?|\.\d+|\d+e[+-]?\d+|\d+[.,]\d+e[+-]?\d+"

_SIMPLE = re.compile(rf"(?P<sign>[+-])?\s*(?P<n>{_N})\s*(?P<unit>{UNIT})?(?: {_HELD})?")
_UNIT_FIRST = re.compile(rf"(?!#)(?P<unit>{UNIT})\s*(?P<n>{_N})")
_BOTH = re.compile(rf"(?P<n>{_N})\s*(?P<unit>{UNIT})\s*[(/=]\s*(?P<n2>{_N})\s*(?P<unit2>{UNIT})\s*\)?")
_FRACTION = re.compile(rf"(?P<whole>\d+)[ -](?P<up>\d)/(?P<down>[248])\s*(?P<unit>{UNIT})?")
_BAND = re.compile(
    r".*?\b\w*?(?:bands?|bänder|bandas?|élastiques?|elastiques?|elastic[oi]|elásticos?|ligas?|gomas?)\b.*"
)
_PAIR = re.compile(rf"(?P<count>[1-4])\s*x\s*(?P<n>{_N})\s*(?P<unit>{UNIT})?(?: {_HELD})?")
_EACH_OF = re.compile(rf"(?P<n>{_N})\s*(?P<unit>{UNIT})?\s*\(?{_EACH}\)?")
_HELP = re.compile(
    r"\s*\(?\b(?:(?:assist|asist|unterst[uü]tz|ondersteun|geassist)\w*|(?:of )?help|hilfe"
    r"|aide|ayuda|aiuto|ajuda|hulp)\b[:)]?\s*"
)
_BODYWEIGHT = re.compile(
    rf"(?:{BODY})(?:\s*(?P<sign>[+-])\s*(?P<n>{_N})\s*(?P<unit>{UNIT})?)?\s*(?:\(\s*0\s*(?:{UNIT})?\s*\))?"
)
_STACK = r"(?:" + "|".join(map(re.escape, meanings("stack"))) + r")\.?\s*(?:n[ro]?\.?|#)?\s*\d{1,2}"
_BESIDE_STACK = re.compile(
    rf"{_STACK}\s*(?:\(|[=:/,–-]\s*)(?P<load>.+?)\)?|(?P<first>.+?)\s*(?:\(|[,/–-]\s*){_STACK}\)?"
)
"""A load in kilograms beside the plate of a stack it hangs from, ``plate 7 (35 kg)``."""
_SHARE = (
    r"(?:@|a|at|al|bei|à|op|aan)?\s?\d{1,3}(?:[.,]\d)?\s?%"
    r"(?:\s?(?:of|del?|des|du|vom|von|do|da|dell[ao']?|van|v\.)?\s?(?:the |het |la |le )?"
    r"(?:[1e]?\s?rm|1wm|max\w*|mass\w+)\.?)?"
)
_BESIDE_SHARE = re.compile(
    rf"(?P<first>.*?\d.*?)\s*(?:[(\[=]\s*|(?=@)|(?P<open>[,;/]?\s?)(?<![\d.])){_SHARE}\s*[)\]]?"
    rf"|{_SHARE}\s*[(\[=:]\s*(?P<load>.+?)[)\]]?"
)
"""A load beside its share of a maximum, ``150 (80 %)``."""
_RECORD = re.compile(
    r"(?<=[\w.])\s*(?:[★☆⭐*!🏆🥇🎉💪🔥✨]+|\(?\b(?:(?:new|neuer?|nuevo|nouveau|nuovo|novo|nieuw) )?"
    r"(?:pr|pb|record|rekord|recorde)!*\)?!*)$"
)
"""What marks a record behind a load."""
_ADDED_TO = re.compile(rf"(?P<sign>[+-])?\s*(?P<n>{_N})\s*(?P<unit>{UNIT})?\s*\+\s*(?:{BODY})")


@dataclass(frozen=True, slots=True)
class Load:
    """A load as written.

    `value` in `unit` (None: the cell does not say); `bodyweight`: the athlete's own weight comes on top;
    `signed`: a plus or minus stood before it; `implements`: 2 for a pair, else None.
    `problem` is the reason why the text is no load; then the rest says nothing.
    """

    value: float | None = None
    unit: str | None = None
    bodyweight: bool = False
    signed: bool = False
    implements: int | None = None
    problem: str | None = None


@remembered
def parse_load(text: str | None, decimal: str) -> Load:
    """The load in a cell.  An empty cell is a Load without a value."""
    words = tidy(text)
    if words in EMPTY_WORDS:
        return Load()
    if len(words) > _LONGEST:
        return Load(problem="is not a load")
    if plain(words) in _UNLOADED:
        return Load()
    words = words if words[-1].isdigit() else _RECORD.sub("", words)
    if found := _SIMPLE.fullmatch(words):
        value = parse_number(found["n"], decimal)
        if value is None:
            return Load(problem=_unclear(found["n"]))
        if found["sign"] == "-":
            value = -value
        return Load(value=value, unit=_unit(found["unit"]), signed=bool(found["sign"]))
    if (helped := _HELP.sub("", words)) != words:
        return _assistance(helped, decimal)
    if found := _BODYWEIGHT.fullmatch(words) or _ADDED_TO.fullmatch(words):
        if found["n"] is None:
            return Load(value=0.0, bodyweight=True)
        value = parse_number(found["n"], decimal)
        if value is None:
            return Load(problem=_unclear(found["n"]))
        return Load(
            value=-value if found["sign"] == "-" else value, unit=_unit(found["unit"]), bodyweight=True
        )
    if found := _PAIR.fullmatch(words):
        value = parse_number(found["n"], decimal)
        if value is not None:
            return Load(value=value, unit=_unit(found["unit"]), implements=int(found["count"]))
    if found := _EACH_OF.fullmatch(words):
        value = parse_number(found["n"], decimal)
        if value is not None:
            return Load(value=value, unit=_unit(found["unit"]), implements=2)
    if found := _FRACTION.fullmatch(words):
        value = int(found["whole"]) + int(found["up"]) / int(found["down"])
        return Load(value=value, unit=_unit(found["unit"]))
    if found := _UNIT_FIRST.fullmatch(words):
        value = parse_number(found["n"], decimal)
        if value is not None:
            return Load(value=value, unit=_unit(found["unit"]))
    if found := _BOTH.fullmatch(words):
        return _agreeing(found, decimal)
    if found := _BESIDE_STACK.fullmatch(words):
        load = parse_load(found["load"] or found["first"], decimal)
        return load if load.unit else Load(problem=_IS_A_PLATE)
    if "%" in words:
        return _beside_share(words, decimal)
    if _BAND.fullmatch(words):
        return Load(problem=_IS_A_BAND)
    return Load(problem=IS_A_DAY if is_day(words) else "is not a load")


def is_band(text: str) -> bool:
    """Whether a cell of loads names a band and nothing else, ``red band``; help by one is no load either."""
    if any(c.isdigit() for c in text):
        return False
    words = tidy(text)
    return bool(_BAND.fullmatch(words)) and not _HELP.search(words)


@remembered
def parse_unit(text: str | None) -> str | None:
    """The unit a unit cell names: ``kg``, ``lb``, ``bw`` for bodyweight; None where it names none."""
    words = tidy(text).strip("()[]. ")
    return "bw" if words in BODYWEIGHT_WORDS else UNIT_WORDS.get(words)


def _assistance(words: str, decimal: str) -> Load:
    """``-20 assist`` and ``BW-20 assisted``: what a machine or a band takes off the athlete's own weight."""
    load = parse_load(words, decimal)
    if load.problem == _IS_A_BAND:
        return load
    if load.problem or load.value is None or (load.bodyweight and load.value >= 0):
        return Load(problem="does not say how much the assistance is: write it as BW-20")
    return replace(load, value=-abs(load.value), bodyweight=True)


def _beside_share(words: str, decimal: str) -> Load:
    """``150 (80%)`` is 150; ``75/80%`` may be two shares, so there a load needs its unit."""
    found = _BESIDE_SHARE.fullmatch(words)
    load = parse_load(found["first"] or found["load"], decimal) if found else Load(problem=_IS_A_SHARE)
    clear = found is not None and (found["open"] is None or load.unit)
    return load if clear else Load(problem=_IS_A_SHARE)


def _agreeing(found: re.Match[str], decimal: str) -> Load:
    """``100 kg (220 lb)``: the first one, if both say the same to 1.5 %."""
    first, second = parse_number(found["n"], decimal), parse_number(found["n2"], decimal)
    unit, other = _unit(found["unit"]), _unit(found["unit2"])
    if first is None or second is None or unit == other:
        return Load(problem="holds two loads")
    as_kg = first * (KG_PER_LB if unit == "lb" else 1)
    other_kg = second * (KG_PER_LB if other == "lb" else 1)
    if abs(as_kg - other_kg) > SAME_LOAD * max(as_kg, other_kg):
        return Load(problem="holds two loads that differ")
    return Load(value=first, unit=unit)


def _unit(word: str | None) -> str | None:
    return UNIT_WORDS[word] if word else None


def _unclear(digits: str) -> str:
    return f"could be two numbers: {digits} may be thousands or decimals, and this file uses both marks"
