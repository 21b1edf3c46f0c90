"""Header: column names in seven languages to fields, with the unit or the set number that stands in them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from analytics.intake.cells.loads import PER_HAND
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.units import UNIT_WORDS, UNITS
from analytics.intake.cells.vocabulary import column_names, meanings, spare_names
from analytics.intake.header.numbering import numbered_field, role_field
from analytics.intake.header.several import counted_in, reserve_in
from analytics.intake.header.sides import LETTERS, SIDES, side_order

FIELDS = tuple(dict.fromkeys((*column_names("sets"), *column_names("checkins"))))
"""Every field name that `roster.toml` may list under ``[columns]``."""

_BRACKET = re.compile(r"[(\[{]\s*([^)\]}]*?)\s*[)\]}]")
_SCALE = re.compile(r"(?<=\w)\s?(?:/|\(?\b(?:out of|of|von|auf|sur|su|de|sobre|van|[01]\s?[-–])\b)\s?10\)?$")
"""The scale of an effort, ``RPE /10``, which is no tenth set."""
_POINTED = re.compile(r"^(\d{1,2})\s?[.°]\s?(?=[^\W\d])")
"""``1. kg``, which is ``1st kg``; ``1 kg`` is no ordinal."""
_OR = re.compile(rf"\s(?:{'|'.join(meanings('or'))})\s", re.IGNORECASE)
"""What stands between two meanings of a column, ``Added or help``."""
_CAPITAL = re.compile(r"(?<=[^\W\d_A-Z])(?=[A-Z])")
"""Where a name such as ``weightKg`` has its next word."""
_PER_HAND = re.compile(rf"[(\[]?\s*(?:{PER_HAND})\b\s*[)\]]?")
_FILLERS = frozenset(meanings("filler"))
"""Words of a column name that change nothing; target, planned and total are not among them."""
_TOOLS = frozenset(meanings("tool"))
"""Words for what is held, beside a unit: ``Bell kg``."""
_NUMBER = frozenset({"number", "nr", "no", "n", "nb", "num", "numero", "anzahl", "aantal", "#"})
_AMOUNT = ("load", "reps", "rir", "rpe")
_NO_LOAD = ("implements", "month", "year")
"""Fields that say nothing of a column whose name has a unit of load, such as ``Dumbbells (kg)``."""
_LONGEST, _MOST_MEANINGS = 80, 100_000


@dataclass(frozen=True, slots=True)
class Heading:
    """One column: its position, its field, the unit, side, set number and role that its name carries."""

    column: int
    text: str
    field: str
    unit: str | None = None
    side: str | None = None
    set_number: int | None = None
    role: str | None = None


class Dictionary(dict[str, str]):
    """Normalised column name to field; remembers what each cell text meant as the name of a column."""

    def __init__(self, names: Mapping[str, str]) -> None:
        super().__init__(names)
        self.meant: dict[str, Heading | None] = {}


def dictionary(kind: str, extra: Mapping[str, Sequence[str]]) -> Dictionary:
    """Normalised column name to field, for ``sets`` or ``checkins``; the coach's own names (`extra`) win."""
    known = column_names(kind)
    own = {normal(name): field for field, spelled in extra.items() if field in known for name in spelled}
    return Dictionary({**_built_in(kind), **own})


@cache
def _built_in(kind: str) -> Mapping[str, str]:
    """Normalised column name to field, without the coach's own."""
    found: dict[str, str] = {}
    for field, spelled in column_names(kind).items():
        for name in (*spelled, field):
            found.setdefault(normal(name), field)
    return found


def normal(text: str) -> str:
    """A column name without case, accents, units in brackets and punctuation."""
    words = plain(tidy(text).replace("ß", "ss").replace("'s", "s"))
    return " ".join(re.sub(r"[^\w#%]+|_+", " ", words).split())


def bare_name(text: str) -> str:
    """A column name without brackets and a unit at the end."""
    return _without_unit(normal(_BRACKET.sub(" ", text)))[0]


def unit_of(cell: str) -> str | None:
    """The unit in brackets or at the end of a column name."""
    return _bracketed_unit(tidy(cell)) or _without_unit(normal(cell))[1]


def _bracketed_unit(text: str) -> str | None:
    unit: str | None = None
    for inside in _BRACKET.findall(text):
        word = inside.strip(" .")
        unit = unit or UNITS.get(word) or UNITS.get(plain(word)) or _last_unit(word)
    return unit


def read_heading(column: int, cell: str, known: Mapping[str, str]) -> Heading | None:
    """One column by its own name; None where nobody knows it."""
    if not isinstance(known, Dictionary):
        return _meaning(column, cell, known)
    try:
        meant = known.meant[cell]
    except KeyError:
        meant = _meaning(0, cell, known)
        meant = None if meant and meant.unit in ("kg", "lb") and meant.field in _NO_LOAD else meant
        if len(cell) <= _LONGEST and len(known.meant) < _MOST_MEANINGS:
            known.meant[cell] = meant
    return meant if meant is None or meant.column == column else replace(meant, column=column)


def _meaning(column: int, cell: str, known: Mapping[str, str]) -> Heading | None:
    text = _SCALE.sub("", _POINTED.sub(r"\1e ", tidy(cell)).replace("n.o ", "no "))
    if not text or len(text) > _LONGEST:
        return None
    unit = _bracketed_unit(text)
    whole = normal(text)
    bare = normal(_BRACKET.sub(" ", text))
    if bare != whole and known.get(bare, "work") in ("work", "warm_up"):
        open_text = _BRACKET.sub(lambda b: f" {b[1]} " if known.get(normal(b[1])) in _AMOUNT else b[0], text)
        if open_text != text and (heading := _meaning(column, open_text, known)):
            return replace(heading, text=cell)  # ``Done (reps)``, ``Set 1 (reps)``
    if known.get(side_order(whole)[1]) == "reps" or counted_in(plain(text), known):
        return Heading(column, cell, "reps")  # ``Reps L/R`` over ``12/10``
    if sided := _by_letter(column, cell, unit, known):
        return sided
    for name in (reserve_in(whole, known), whole, bare):
        if name in known:
            return Heading(column, cell, known[name], unit or _named_unit(name))
    name, trailing = _without_unit(bare)
    if trailing == "min" and known.get(name) == "reps":
        return None  # the low end of a range, not a time
    unit = unit or trailing
    if name in known and not _counts_other(bare, known[name]) and not (unit and known[name] == "warm_up"):
        return Heading(column, cell, known[name], unit)
    if told := numbered_field(name, unit, known):
        return Heading(column, cell, *told[:2], set_number=told[2])
    short = " ".join(word for word in name.split() if word not in _FILLERS)
    short, trailing = (short, None) if short in known else _without_unit(short)
    if set(short.split()) <= _TOOLS and unit in ("kg", "lb") and "load" in known.values():
        return Heading(column, cell, "load", unit)
    if short != name and short in known and short != "last" and not _counts_other(name, known[short]):
        return Heading(column, cell, known[short], unit or trailing or _named_unit(short))
    words = name.split()
    sides = [SIDES[word] for word in words if word in SIDES]
    rest = " ".join(word for word in words if word not in SIDES)
    inside_side = [SIDES[w] for b in _BRACKET.findall(text) if (w := plain(b)) in SIDES]
    if len(sides + inside_side) == 1 and rest in known:
        return Heading(column, cell, known[rest], unit or _named_unit(rest), (sides + inside_side)[0])
    held = _PER_HAND.sub(" ", text)
    if held != text and (heading := _meaning(column, held, known)) and heading.field == "load":
        return replace(heading, text=cell)  # ``kg per hand``
    parted = _CAPITAL.sub(" ", cell)
    if parted != cell and (heading := _meaning(column, parted, known)):
        return replace(heading, text=cell)
    if of_role := role_field(name, unit, known):
        return Heading(column, cell, *of_role[:2], set_number=of_role[2], role=of_role[3])
    if twice := _said_twice(column, cell, known):
        return twice
    fields = shortened(cell, known)
    return Heading(column, cell, fields.pop(), unit) if len(fields) == 1 else None


def _by_letter(column: int, cell: str, unit: str | None, known: Mapping[str, str]) -> Heading | None:
    """``Reps E`` or ``Load (R) kg``: an amount of one side by a letter; ``Load g`` is one in grams."""
    opened = _BRACKET.sub(lambda b: f" {b[1]} " if plain(b[1]) in LETTERS else " ", tidy(cell))
    words = normal(opened).split()
    if words and words[-1] in ("kg", "lb", "lbs"):
        unit = UNIT_WORDS[words.pop()]
    field, side = known.get(" ".join(words[:-1])), LETTERS.get(words[-1]) if words else None
    if side is None or field not in _AMOUNT or (field == "load" and words[-1] == "g" and unit in (None, "g")):
        return None
    return Heading(column, cell, str(field), unit, side)


def _counts_other(name: str, field: str) -> bool:
    """Whether a name is that of a number which is no amount of its field, such as ``Exercise no``."""
    return name in spare_names() or (
        field in ("exercise", "date", "athlete") and bool(_NUMBER & set(name.split()))
    )


def _said_twice(column: int, cell: str, known: Mapping[str, str]) -> Heading | None:
    """``Datum / Date``: one field in two languages; a unit may stand behind either."""
    parts = re.split(r"[/|]", cell)
    if len(parts := parts if len(parts) > 1 else _OR.split(cell)) != 2:
        return None
    one, other = (_meaning(column, part, known) for part in parts)
    if one is None or other is None:
        return None
    if {one.field, other.field} == {"added", "assistance"}:
        return replace(one, text=cell, field="signed", unit=one.unit or other.unit)
    if _OR.search(cell) and one.field != other.field:
        return None
    if {one.field, other.field} == {"load", "added"}:
        one = other = replace(one, field="load", unit=one.unit or other.unit)  # ``Belt / load``
    if {one.field, other.field} == {"load", "reps"} and not (one.set_number and other.set_number):
        return replace(one, text=cell, field="work", unit=one.unit or other.unit)  # ``Kg/Reps``: see pairs
    alike = replace(one, text="", unit="") == replace(other, text="", unit="")
    if not alike or len({one.unit, other.unit} - {None}) > 1:
        return None
    return replace(one, text=cell, unit=one.unit or other.unit)


def shortened(cell: str, known: Mapping[str, str]) -> set[str]:
    """The fields whose names begin as ``Herh.`` or ``Tipo ser.`` do, with the dot of an abbreviation."""
    text = tidy(_BRACKET.sub(" ", cell)).rstrip("? ")
    if not re.fullmatch(r"[^\W\d]{3,}\.|[^\W\d]{3,}\.?(?: [^\W\d]{3,}\.?)+(?<=\.)", text):
        return set()
    words = normal(text).split()
    alike = [(name.split(), field) for name, field in known.items() if name.startswith(words[0])]
    return {
        field for name, field in alike if len(name) == len(words) and all(map(str.startswith, name, words))
    }


def _last_unit(words: str) -> str | None:
    """The unit among some words, as in ``kg x reps``; none where they name two, as in ``kg or lb``."""
    named = {UNIT_WORDS[word] for word in re.findall(r"[^\W\d]+", words) if word in UNIT_WORDS}
    if len(named) == 1:
        return named.pop()
    return None if named else UNITS.get(words.rpartition(" ")[2])


def _named_unit(name: str) -> str | None:
    """The unit of a column that is named after it, such as ``kg``, ``seconds`` or ``kg x reps``."""
    if " x " in name:
        return UNIT_WORDS.get(name.partition(" ")[0])
    own = [word for word in (name.split()[-1:] + name.split()[:1]) if word in ("kg", "lb", "lbs")]
    return UNITS.get(own[0] if own else name) if name not in ("m", "s", "in", "g", "t", "n") else None


def _without_unit(name: str) -> tuple[str, str | None]:
    words = name.split()
    if len(words) > 1 and words[-1] in UNITS:
        before = words[:-2] if words[-2] in ("or", "oder", "ou", "o", "of") else words[:-1]
        if len(before) > 1 and UNITS.get(before[-1]) in ("kg", "lb") and words[-1] != before[-1]:
            return " ".join(before[:-1]), None  # ``Weight kg/lb`` names neither
        if words[-2:-1] in (["in"], ["en"], ["em"]):
            return " ".join(words[:-2]), UNITS[words[-1]]
        return " ".join(words[:-1]), UNITS[words[-1]]
    return (name, None)
