"""Shorthand: several sets written in one cell, such as ``3x8@80kg`` or ``80x8 > 60x8``, to single sets."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from analytics.intake.effort import rir_of_rpe
from analytics.intake.loads import BODYWEIGHT_WORDS, EMPTY_WORDS, UNIT_WORDS, Load, parse_load
from analytics.intake.numbers import tidy
from analytics.intake.reps import Piece, parse_reps_list
from analytics.intake.words import parse_role

READINGS = ("load", "sets")
"""What the first number of a bare ``60x12`` is in this file: the load, or how many sets."""
MOST_SETS = 40
LONGEST = 2000

_UNIT = "|".join(sorted(map(re.escape, UNIT_WORDS), key=len, reverse=True))
_BODY = "|".join(sorted(map(re.escape, BODYWEIGHT_WORDS), key=len, reverse=True))
_NUM = r"\d+(?:[.,]\d+)*"
_LOAD = rf"(?:(?:{_BODY})(?:\s*[+-]\s*{_NUM}\s*(?:{_UNIT})?)?|{_NUM}\s*(?:{_UNIT})(?![a-z])|[+-]?{_NUM})"
_REPS = r"\d{1,4}(?:\s*[,/+]\s*\d{1,4}|-\d{1,4})*"
_TIME = r"(?:\d{1,4}\s*(?:s|sec|secs|sek|seg|\"|min)|\d{1,2}:\d{2})"
_FAIL = r"(?:f|!|\*|to failure|failure|fallo|versagen|echec|cedimento|falha|amrap)"
_EFFORT = re.compile(
    r"(?:@|\bat\b|,|\()?\s*(?:(rpe|rir)\s*:?\s*-?(\d+(?:[.,]\d+)?)|(\d+(?:[.,]\d+)?)\s*(rpe|rir))\s*\)?\s*$"
)
_AT = r"(?:@|\bat\b|\ba\b|\bmit\b|\bcon\b|\bmet\b|\bavec\b|\bcom\b|\bw/)"
_LOAD_REPS_SETS = re.compile(rf"({_NUM})\s*({_UNIT})?\s*x\s*(\d{{1,3}})\s*x\s*(\d|10)")
_SETS_AT = re.compile(rf"(\d{{1,2}})\s*x\s*({_REPS}|{_TIME})\s*(?:reps?|wdh)?\s*{_AT}\s*({_LOAD})")
_SETS_REPS_LOAD = re.compile(rf"(\d{{1,2}})\s*x\s*({_REPS}|{_TIME})\s*(?:x\s*|\s|\(\s*)({_LOAD})\s*\)?")
_LOAD_SETS_REPS = re.compile(rf"({_LOAD})\s*(?::|\s|x)\s*(\d{{1,2}})\s*x\s*({_REPS}|{_TIME})")
_PAIR_REPS = re.compile(rf"([12])\s*x\s*({_NUM}\s*(?:{_UNIT}))\s*x\s*({_REPS})")
_MARKED_LOAD_REPS = re.compile(
    rf"((?:{_BODY})(?:\s*[+-]\s*{_NUM}\s*(?:{_UNIT})?)?|{_NUM}\s*(?:{_UNIT}))\s*(?:x|for|:|/|\s)\s*({_REPS}|{_TIME})"
)
_REPS_AT_LOAD = re.compile(
    rf"({_REPS}|{_TIME})\s*(?:x|{_AT})\s*((?:{_BODY})(?:\s*[+-]\s*{_NUM}\s*(?:{_UNIT})?)?|{_NUM}\s*(?:{_UNIT}))"
)
_BARE = re.compile(rf"({_NUM})\s*x\s*({_REPS}|{_TIME})")
_LISTED = re.compile(rf"({_LOAD})\s*:\s*({_REPS})")
_ONLY_REPS = re.compile(rf"({_REPS}|{_TIME})\s*(?:reps?|wdh|rep\.?)?")
_ROLE_FIRST = re.compile(r"(w|wu|w/u|warm[- ]?up|d|drop|ds|b|bo|back[- ]?off|top|rp)\s*[:.]?\s+(?=\d|bw)")
_ROLE_LAST = re.compile(
    r"(?<=[\d\s)a-z])\s*\(?\b(w|wu|w/u|warm[- ]?up|d|drop|ds|back[- ]?off|bo|top set|top|rp)\)?$"
)
_SPLIT = re.compile(
    r"\s*(?:[;|\n&]|,(?=\s)|\s\+\s(?=\d+(?:[.,]\d+)?\s*(?:[a-z]+\s*)?x)|\s/\s(?=\d+(?:[.,]\d+)?\s*(?:[a-z]+\s*)?x))\s*"
)
_NEXT_SET = re.compile(rf",(?={_NUM}\s*(?:{_UNIT})?\s*x|bw)")
_LOAD_TOKEN = re.compile(
    rf"(?<![x\d.,])(?<!x )\d+[.,]\d+(?=\s*(?:{_UNIT})?\s*(?:x|:))"
    rf"|(?<=@)\d+[.,]\d+|\d+[.,]\d+(?=\s*(?:{_UNIT})\b)"
)
_WHOLE_SET = re.compile(r"x\s*\d+(?:/\d+)?\s*[a-z!*]?$|(?:rpe|rir|kg|lb|lbs)\s*\d?$")
_CHAIN = re.compile(r"\s*(?:->|=>|>+|→|⇒|↘)\s*")
_DROP_TO = re.compile(r"\s*[,;]?\s+(?:drop(?: ?set)?(?: to)?|ds)\s+(?=\d)")
_SETS_OF = re.compile(
    r"(\d)\s*(?:sets?|satze|sätze|series|séries|serie)"
    r"\s*(?:of|x|de|à|a|von|di|da|van|met|con|mit)?\s*(?=\d)"
)
_REPS_WORD = re.compile(
    r"(\d)\s*(?:reps?|repetitions|wiederholungen|wdh|répétitions|repeticiones|ripetizioni|repetições|herhalingen)"
    r"\.?(?=\s*(?:@|x|at\b|with\b|mit\b|con\b|avec\b|com\b|met\b|,|;|$))"
)


def parse_work(text: str | None, decimal: str, reading: str) -> tuple[tuple[Piece, ...], str | None]:
    """(sets, problem) of a cell: the sets in order, or why the cell cannot be read.  All of it or nothing."""
    words = _arrows(text)
    if words in EMPTY_WORDS:
        return (), None
    if len(words) > LONGEST:
        return (), "is too long for a list of sets"
    words = _spoken(words)
    if reading == "load" and _only_small(words):
        return (), "may be sets or a load: write kg or lb behind the load"
    pieces: list[Piece] = []
    chain = 0
    for part in _parts(words, decimal):
        links = [link for link in _CHAIN.split(part) if link]
        linked = len(links) > 1
        chain += linked
        before: Load | None = pieces[-1].load if pieces else None
        for i, link in enumerate(links):
            found = _item(link, decimal, reading, before)
            if isinstance(found, str):
                return (), f"cannot be read at {link[:40]!r}: {found}" if len(links) + len(
                    pieces
                ) > 1 else found
            if linked:
                role = "drop" if i else "working"
                found = [replace(piece, chain=chain, role=piece.role or role) for piece in found]
            pieces.extend(found)
            before = pieces[-1].load
            if len(pieces) > MOST_SETS:
                return (), f"holds more than {MOST_SETS} sets"
    return (tuple(pieces), None) if pieces else ((), "holds no set")


def reading_of(cells: Iterable[str | None], load_elsewhere: bool) -> str:
    """What a bare ``axb`` means in this file, decided by all its cells at once.

    Sets x reps where the load stands in a column of its own, or where no first number is above 12; else
    load x reps.
    """
    if load_elsewhere:
        return "sets"
    firsts = [
        float(found[1].replace(",", "."))
        for cell in cells
        for part in re.split(r"[;,>|]\s+|[;>|]", tidy(cell))
        if (found := re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*x\s*\d+(?:[,/]\d+)*(?:\s*@.*)?\s*", part))
    ]
    return "load" if any(first > 12 or first != int(first) for first in firsts) else "sets"


def _spoken(words: str) -> str:
    """``3 sets of 8 reps at 80 kg`` in signs."""
    words = _DROP_TO.sub(" > ", words)
    words = _SETS_OF.sub(r"\1x", words)
    return _REPS_WORD.sub(r"\1", words)


def _only_small(words: str) -> bool:
    """Whether the cell is one bare ``3x8``, whose first number may well count sets."""
    found = re.fullmatch(r"([1-5])\s*x\s*\d{1,2}", words)
    return found is not None


def _arrows(text: str | None) -> str:
    if text and "\n" in text:
        text = text.replace("\r", "").replace("\n", "; ")
    return tidy(text)


def _parts(words: str, decimal: str) -> list[str]:
    split: list[str] = []
    for part in _SPLIT.split(words):
        if part.count("x") < 2:
            split.append(part)
            continue
        # A comma without a space opens a further set only after a whole one: 60x12,65x10 but not 82,5x8.
        start = 0
        for comma in _NEXT_SET.finditer(part):
            before = part[start : comma.start()]
            if _WHOLE_SET.search(before) if decimal == "comma" else "x" in before:
                split.append(part[start : comma.start()])
                start = comma.end()
        split.append(part[start:])
    return [part for part in split if part]


def _item(item: str, decimal: str, reading: str, before: Load | None) -> list[Piece] | str:
    item = item.strip(" .,")
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
        result.append(replace(piece, rir=own, role=piece.role or role, note=piece.note or note))
    return result


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
    if (found := _LOAD_REPS_SETS.fullmatch(item)) and (found[2] or float(found[1].replace(",", ".")) > 12):
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
    if found := re.fullmatch(rf"({_NUM})\s*x\s*({_REPS}|{_TIME})\s*@\s*(\d+(?:[.,]\d+)?)", item):
        return f"{found[3]} may be a load or an RPE"
    if found := _BARE.fullmatch(item):
        if reading == "load":
            return _spread(1, found[2], parse_load(found[1], decimal))
        if not found[1].isdigit():
            return "has no whole number of sets"
        return _spread(int(found[1]), found[2], None)
    if found := _ONLY_REPS.fullmatch(item):
        return _spread(1, found[1], before)
    return "is not sets, reps and load in a known notation"


def _rpe(text: str) -> bool:
    value = float(text.replace(",", "."))
    return 5 <= value <= 10 and (value * 2) % 1 == 0


def _sets_at(sets: str, reps: str, load: str, decimal: str, reading: str) -> list[Piece] | str:
    """``3x8@80kg`` is sets x reps at a load; ``100x5 @8`` is load x reps at an RPE."""
    marked = not re.fullmatch(r"[+-]?" + _NUM, load)
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


def decimal_tokens(cells: Iterable[str | None]) -> list[str]:
    """Numbers of shorthand cells that can only be loads, for deciding the file's decimal mark."""
    tokens: list[str] = []
    for cell in cells:
        tokens += _LOAD_TOKEN.findall(tidy(cell)[:LONGEST])
    return tokens


def parse_load_list(text: str | None, decimal: str) -> tuple[Load, ...] | None:
    """The loads of a cell such as ``60/65/70`` or ``60, 65, 70``; None where a part is no load.

    A comma without a space parts loads only in a file with a decimal point.
    """
    words = _arrows(text)
    marks = r"\s*[/;|]\s*|,\s+|\s*(?:->|>)\s*" + (r"|," if decimal == "point" else "")
    parts = re.split(marks, words)
    if len(parts) == 1 and words.count("-") >= 2:
        parts = words.split("-")
    loads = tuple(parse_load(part, decimal) for part in parts if part)
    if not loads or len(loads) > MOST_SETS or any(load.problem or load.value is None for load in loads):
        return None
    unit = next((load.unit for load in reversed(loads) if load.unit), None)
    return tuple(replace(load, unit=load.unit or unit) for load in loads)
