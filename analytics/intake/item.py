"""Item: one stretch of shorthand between separators, such as ``3x8@80kg``, to its sets."""

from __future__ import annotations

import re
from dataclasses import replace

from analytics.intake.effort import rir_of_rpe
from analytics.intake.loads import BODYWEIGHT_WORDS, Load, parse_load
from analytics.intake.memory import remembered
from analytics.intake.numbers import parse_number
from analytics.intake.reps import Piece, parse_reps_list
from analytics.intake.units import UNIT_WORDS
from analytics.intake.words import parse_role

MOST_SETS = 40

UNIT = "|".join(sorted(map(re.escape, UNIT_WORDS), key=len, reverse=True))
_BODY = "|".join(sorted(map(re.escape, BODYWEIGHT_WORDS), key=len, reverse=True))
NUMBER = r"\d+(?:[.,]\d+)*"
_LOAD = rf"(?:(?:{_BODY})(?:\s*[+-]\s*{NUMBER}\s*(?:{UNIT})?)?|{NUMBER}\s*(?:{UNIT})(?![a-z])|[+-]?{NUMBER})"
_REPS = r"\d{1,4}(?:\s*[,/+]\s*\d{1,4}|-\d{1,4})*"
_TIME = r"(?:\d{1,4}\s*(?:s|sec|secs|sek|seg|\"|min)|\d{1,2}:\d{2})"
_FAIL = r"(?:f|!|\*|to failure|failure|fallo|versagen|echec|cedimento|falha|amrap)"
_EFFORT = re.compile(
    r"(?:@|\bat\b|,|\()?\s*(?:(rpe|rir)\s*:?\s*-?(\d+(?:[.,]\d+)?)|(\d+(?:[.,]\d+)?)\s*(rpe|rir))\s*\)?\s*$"
)
_AT = r"(?:@|\bat\b|\ba\b|\bmit\b|\bcon\b|\bmet\b|\bavec\b|\bcom\b|\bw/)"
_LOAD_REPS_SETS = re.compile(rf"({NUMBER})\s*({UNIT})?\s*x\s*(\d{{1,3}})\s*x\s*(\d|10)")
_SETS_AT = re.compile(rf"(\d{{1,2}})\s*x\s*({_REPS}|{_TIME})\s*(?:reps?|wdh)?\s*{_AT}\s*({_LOAD})")
_SETS_REPS_LOAD = re.compile(rf"(\d{{1,2}})\s*x\s*({_REPS}|{_TIME})\s*(?:x\s*|\s|\(\s*)({_LOAD})\s*\)?")
_LOAD_SETS_REPS = re.compile(rf"({_LOAD})\s*(?::|\s|x)\s*(\d{{1,2}})\s*x\s*({_REPS}|{_TIME})")
_PAIR_REPS = re.compile(rf"([12])\s*x\s*({NUMBER}\s*(?:{UNIT}))\s*x\s*({_REPS})")
_MARKED_LOAD_REPS = re.compile(
    rf"((?:{_BODY})(?:\s*[+-]\s*{NUMBER}\s*(?:{UNIT})?)?|{NUMBER}\s*(?:{UNIT}))\s*(?:x|for|:|/|\s)\s*({_REPS}|{_TIME})"
)
_REPS_AT_LOAD = re.compile(
    rf"({_REPS}|{_TIME})\s*(?:x|{_AT})\s*((?:{_BODY})(?:\s*[+-]\s*{NUMBER}\s*(?:{UNIT})?)?|{NUMBER}\s*(?:{UNIT}))"
)
_BARE = re.compile(rf"({NUMBER})\s*x\s*({_REPS}|{_TIME})")
_LISTED = re.compile(rf"({_LOAD})\s*:\s*({_REPS})")
_ONLY_REPS = re.compile(rf"({_REPS}|{_TIME})\s*(?:reps?|wdh|rep\.?)?")
_ROLE_FIRST = re.compile(r"(w|wu|w/u|warm[- ]?up|d|drop|ds|b|bo|back[- ]?off|top|rp)\s*[:.]?\s+(?=\d|bw)")
_ROLE_LAST = re.compile(
    r"(?<=[\d\s)a-z])\s*\(?\b(w|wu|w/u|warm[- ]?up|d|drop|ds|back[- ]?off|bo|top set|top|rp)\)?$"
)


@remembered
def read_item(text: str | None, decimal: str, reading: str, before: Load | None) -> tuple[Piece, ...] | str:
    """The sets of one item, or why it cannot be read; bare reps go on with the load `before`."""
    item = (text or "").strip(" .,")
    role: str | None = None
    if found := _ROLE_FIRST.match(item):
        role = parse_role(found[1])[0]
        item = item[found.end() :]
    if found := _ROLE_LAST.search(item):
        role = parse_role(found[1])[0]
        item = item[: found.start()].strip()
    rir: float | None = None
    note: str | None = None
    if found := _EFFORT.search(item):
        kind, value = (found[1], found[2]) if found[1] else (found[4], found[3])
        rir, note = _effort(kind, float(value.replace(",", ".")))
        if isinstance(note, str) and note.startswith("!"):
            return note[1:]
        item = item[: found.start()].strip(" ,(")
    failed = re.search(rf"(?<=[\d\s]){_FAIL}$", item)
    if failed:
        rir = 0.0
        item = item[: failed.start()].strip()
    sets = _sets(item, decimal, reading, before)
    if isinstance(sets, str):
        return sets
    result = []
    for i, piece in enumerate(sets):
        last = i == len(sets) - 1
        own = piece.rir if piece.rir is not None else (rir if not failed or last else None)
        if own is not None or role or note:
            piece = replace(piece, rir=own, role=piece.role or role, note=piece.note or note)
        result.append(piece)
    return tuple(result)


def _effort(kind: str, value: float) -> tuple[float | None, str | None]:
    if value > 10:
        return None, f"!{kind.upper()} {value:g} is above 10"
    if kind == "rir":
        return value, None
    rir = rir_of_rpe(value)
    return rir, None if rir is not None else f"RPE {value:g}"


def _sets(item: str, decimal: str, reading: str, before: Load | None) -> list[Piece] | str:
    if found := _PAIR_REPS.fullmatch(item):
        load = replace(parse_load(found[2], decimal), implements=int(found[1]))
        return _spread(1, found[3], load)
    if (found := _LOAD_REPS_SETS.fullmatch(item)) and (
        found[2] or (parse_number(found[1], decimal) or 0) > 12
    ):
        return _spread(int(found[4]), found[3], parse_load(f"{found[1]}{found[2] or ''}", decimal))
    if found := _SETS_AT.fullmatch(item):
        return _sets_at(found[1], found[2], found[3], decimal, reading)
    if (found := re.fullmatch(rf"({_LOAD})\s*x\s*({_REPS}|{_TIME})\s*@\s*(\d+(?:[.,]\d+)?)", item)) and _rpe(
        found[3]
    ):
        return _load_reps_rpe(found[1], found[2], found[3], decimal)
    if found := _REPS_AT_LOAD.fullmatch(item):
        return _spread(1, found[1], parse_load(found[2], decimal))
    if found := _MARKED_LOAD_REPS.fullmatch(item):
        return _spread(1, found[2], parse_load(found[1], decimal))
    if found := _SETS_REPS_LOAD.fullmatch(item):
        return _spread(int(found[1]), found[2], parse_load(found[3], decimal))
    if found := _LOAD_SETS_REPS.fullmatch(item):
        return _spread(int(found[2]), found[3], parse_load(found[1], decimal))
    if found := _LISTED.fullmatch(item):
        return _spread(1, found[2], parse_load(found[1], decimal))
    if found := re.fullmatch(rf"({NUMBER})\s*x\s*({_REPS}|{_TIME})\s*@\s*(\d+(?:[.,]\d+)?)", item):
        return f"{found[3]} may be a load or an RPE"
    if found := _BARE.fullmatch(item):
        if reading == "load" and (
            found[2].isdigit() or not re.fullmatch(_TIME, found[2]) or len(found[1]) > 1
        ):
            return _spread(1, found[2], parse_load(found[1], decimal))
        if not found[1].isdigit():
            return "has no whole number of sets"
        return _spread(int(found[1]), found[2], None)
    if found := _ONLY_REPS.fullmatch(item):
        return _spread(1, found[1], before)
    return "is not sets, reps and load in a known notation"


def _rpe(text: str) -> bool:
    value = parse_number(text, "comma" if "," in text else "point")
    return value is not None and 5 <= value <= 10 and (value * 2) % 1 == 0


def _sets_at(sets: str, reps: str, load: str, decimal: str, reading: str) -> list[Piece] | str:
    """``3x8@80kg`` is sets x reps at a load; ``100x5 @8`` is load x reps at an RPE."""
    marked = not re.fullmatch(r"[+-]?" + NUMBER, load)
    if not marked and _rpe(load):
        if reading == "sets":
            pieces = _spread(int(sets), reps, None)
            if isinstance(pieces, str):
                return pieces
            rir, note = _effort("rpe", float(load.replace(",", ".")))
            return [replace(piece, rir=rir, note=note) for piece in pieces]
        if int(sets) > 10:
            return _load_reps_rpe(sets, reps, load, decimal)
        return f"{load} may be a load or an RPE"
    return _spread(int(sets), reps, parse_load(load, decimal))


def _load_reps_rpe(load: str, reps: str, rpe: str, decimal: str) -> list[Piece] | str:
    pieces = _spread(1, reps, parse_load(load, decimal))
    if isinstance(pieces, str):
        return pieces
    rir, note = _effort("rpe", float(rpe.replace(",", ".")))
    return [replace(piece, rir=rir, note=note) for piece in pieces]


def _spread(count: int, reps: str, load: Load | None) -> list[Piece] | str:
    if load is not None and load.problem:
        return load.problem
    if not 1 <= count <= MOST_SETS:
        return f"says {count} sets"
    single = parse_reps_list(reps)
    if isinstance(single, str):
        return single
    return [replace(piece, load=load) for _ in range(count) for piece in single]
