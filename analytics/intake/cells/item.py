"""Item: one stretch of shorthand between separators, such as ``3x8@80kg``, to its sets."""

from __future__ import annotations

import re
from dataclasses import replace

from analytics.intake.cells.effort import rir_of_rpe
from analytics.intake.cells.loads import BODY, PER_HAND, Load, parse_load
from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import any_number, parse_number
from analytics.intake.cells.ramp import read_ramp
from analytics.intake.cells.reps import (
    DISTANCE,
    MOST_USUAL_REPS,
    NUMBER,
    SIDED,
    TIMES,
    Piece,
    parse_reps_list,
)
from analytics.intake.cells.tags import take_tags
from analytics.intake.cells.units import UNIT

MOST_SETS = 40
_HEAVIEST_OF_PAIR = 60
"""Dumbbells above this are rare.  Common practice, no source."""
_OWN = rf"(?:{BODY})(?:\s*[+-]\s*{NUMBER}\s*(?:{UNIT})?)?"
_PAIR_OF = rf"2\s?x\s?{NUMBER}\s?(?:{UNIT})(?![a-z])"
_EACH_HAND = rf"{NUMBER}\s?(?:{UNIT})\s?(?:{PER_HAND}|each(?!\s*(?:side|leg|arm)))"
MARKED = rf"(?:{_PAIR_OF}|{_EACH_HAND}|{_OWN}|[+-]?{NUMBER}\s*(?:{UNIT})(?![a-z]))"
"""Pattern of a load that says its unit, or the bodyweight."""
LOAD = rf"(?:{MARKED}|[+-]?{NUMBER})"
_REPS = r"\d{1,4}(?:\s*[,/+]\s*\d{1,4}|-\d{1,4})*"
_TIME = r"(?:\d{1,4}\s*(?:s|sec|secs|sek|seg|\"|min)|\d{1,2}:\d{2})"
_DONE = rf"{SIDED}|{TIMES}|{_REPS}|{_TIME}|{DISTANCE}"
AT = r"(?:@|\bat\b|\b[aà]\b|\bwith\b|\bmit\b|\bcon\b|\bmet\b|\bavec\b|\bcom\b|\bw/)"
_LOAD_REPS_SETS = re.compile(rf"({NUMBER})\s*({UNIT})?\s*x\s*(\d{{1,3}})\s*x\s*(\d|10)")
_THREE = re.compile(rf"(\d{{1,2}})( ?)x( ?)({NUMBER})( ?)x ?({NUMBER})")
_SETS_AT = re.compile(rf"(\d{{1,2}})\s*x\s*({_DONE})\s*(?:reps?|wdh)?\s*{AT}\s*(2\s?x\s?{NUMBER}|{LOAD})")
_SETS_REPS_LOAD = re.compile(rf"(\d{{1,2}})\s*x\s*({_DONE})\s*(?:x\s*|\s|\(\s*)({LOAD})\s*\)?")
_LOAD_SETS_REPS = re.compile(rf"({LOAD})\s*(?::|\s|x|for\s)\s*(\d{{1,2}})\s*x\s*({_DONE})")
_PAIR = re.compile(rf"([12])\s*x\s*({NUMBER}\s*(?:{UNIT}))\s*x\s*({_DONE})")
_MARKED = re.compile(rf"({_OWN}|[+-]?\s?{NUMBER}\s*(?:{UNIT}))\s*(?:x|for|:|/|\s)\s*({_DONE})")
_SIGNED = re.compile(rf"([+-]\s?{NUMBER})\s*x\s*({_DONE})")
_UNIT_LAST = re.compile(rf"({NUMBER})\s*x\s*({NUMBER})\s*({UNIT})")
_REPS_AT_LOAD = re.compile(rf"({_DONE})\s*(?:x|{AT})\s*({_OWN}|{NUMBER}\s*(?:{UNIT}))")
_BARE = re.compile(rf"({NUMBER})\s*x\s*({_DONE})")
_AT_BARE = re.compile(rf"(\d{{1,2}})\s*@\s*({NUMBER})")
_REPS_RATED = re.compile(rf"({_REPS})\s*@\s*(\d+(?:[.,]\d+)?)")
_DECIMAL_REPS = re.compile(r"\d{2,3},(?:5|25|75)")
_AT_RPE = re.compile(rf"({LOAD})\s*x\s*({_DONE})\s*@\s*(\d+(?:[.,]\d+)?)")
_RATED = re.compile(r"(.+?)\s*@\s*(\d+(?:[.,]\d+)?)")
_CLOCK = re.compile(r"(\d{1,2}):[0-5]\d")
_METRES = re.compile(r"\d+\s?m")
_ONE_EACH = re.compile(r"\d\s*[,/]\s*\d")
_LISTED = re.compile(rf"({LOAD})\s*:\s*({_REPS})")
_ONLY_REPS = re.compile(rf"({_DONE})\s*(?:reps?|wdh|rep\.?)?")
_TIMES = re.compile(
    r"(.*\d.*?)\s*(?:\(\s*x\s*(\d{1,2})\s*\)|(?:x|for|,)?\s(\d{1,2})\s*(?:sets|satze|sätze|series|séries|serie))"
)
_ORDERS = "may be sets, reps and load in several orders: write kg or lb behind the load"


@remembered
def read_item(text: str | None, decimal: str, reading: str, before: Load | None) -> tuple[Piece, ...] | str:
    """The sets of one item, or why it cannot be read; bare reps go on with the load `before`."""
    told = take_tags((text or "").strip(" .,"))
    if isinstance(told, str):
        return told
    item, tags = told
    most = item.endswith("+") and (_ONE_EACH.search(item) or "amrap" in str(text))
    if item.endswith("+") and not most:
        return "may be more repetitions than it says: write how many were done"
    item = item.rstrip("+ ") if most else item  # as many as possible, of which so many were done
    times = _TIMES.fullmatch(item)
    sets = _sets(times[1] if times else item, decimal, reading, before)
    if isinstance(sets, str):
        return sets
    if most and len(sets) > 1 and not _ONE_EACH.search(item):
        return "does not say how many repetitions the last set had"
    if times:
        count = int(times[2] or times[3])
        if len(sets) > 1 or not 1 <= count <= MOST_SETS:
            return f"says {count} times what is several sets already"
        sets = sets * count
    return tags.on(sets)


def _sets(item: str, decimal: str, reading: str, before: Load | None) -> list[Piece] | str:
    if found := _PAIR.fullmatch(item):
        return _pair(found[1], found[2], found[3], decimal)
    if found := _CLOCK.fullmatch(item):
        return _spread(1, item, before) if len(found[1]) == 1 else "may be a time, or a load and reps"
    if (found := _LOAD_REPS_SETS.fullmatch(item)) and (
        found[2] or (parse_number(found[1], decimal) or 0) > 12
    ):
        return _spread(int(found[4]), found[3], parse_load(f"{found[1]}{found[2] or ''}", decimal))
    if found := _THREE.fullmatch(item):
        return _three(found, decimal)
    if found := _SETS_AT.fullmatch(item):
        return _sets_at(found[1], found[2], found[3], decimal, reading)
    if (ramp := read_ramp(item, decimal)) is not None:
        return ramp
    if (found := _AT_RPE.fullmatch(item)) and _rpe(found[3]):
        return _load_reps_rpe(found[1], found[2], found[3], decimal)
    if found := _UNIT_LAST.fullmatch(item):
        return _unit_last(found, decimal, reading)
    if found := _REPS_AT_LOAD.fullmatch(item):
        return _spread(1, found[1], parse_load(found[2], decimal))
    if found := _MARKED.fullmatch(item) or _SIGNED.fullmatch(item):
        return _spread(1, found[2], parse_load(found[1], decimal))
    if found := _SETS_REPS_LOAD.fullmatch(item):
        return _spread(int(found[1]), found[2], parse_load(found[3], decimal))
    if found := _LOAD_SETS_REPS.fullmatch(item):
        return _spread(int(found[2]), found[3], parse_load(found[1], decimal))
    if found := _LISTED.fullmatch(item):
        return _spread(1, found[2], parse_load(found[1], decimal))
    if (found := _AT_RPE.fullmatch(item)) and found[1][0].isdigit():
        return f"{found[3]} may be a load or an RPE"
    if (
        reading != "sets"
        and (found := _AT_BARE.fullmatch(item))
        and (parse_number(found[2], decimal) or 0) > MOST_USUAL_REPS
    ):
        return _spread(1, found[1], parse_load(found[2], decimal))
    if reading == "sets" and (found := _REPS_RATED.fullmatch(item)) and _rpe(found[2]):
        pieces = _spread(1, found[1], before)
        return pieces if isinstance(pieces, str) else _rated(pieces, found[2])
    if found := _BARE.fullmatch(item):
        if decimal == "comma" and _DECIMAL_REPS.fullmatch(found[2]):
            return f"may be {found[2]} kg, or two sets: write kg behind the load"
        if reading in ("load", "both") and (
            found[2].isdigit() or not re.fullmatch(_TIME, found[2]) or len(found[1]) > 1
        ):
            return _spread(1, found[2], parse_load(found[1], decimal))
        if not found[1].isdigit():
            return "has no whole number of sets"
        return _spread(int(found[1]), found[2], None)
    if found := _ONLY_REPS.fullmatch(item):
        return _spread(1, found[1], before) if not _METRES.fullmatch(item) else "may be metres or minutes"
    if (found := _RATED.fullmatch(item)) and _rpe(found[2]) and _says_load(found[1]):
        pieces = _sets(found[1], decimal, reading, before)
        return pieces if isinstance(pieces, str) else _rated(pieces, found[2])
    return "is not sets, reps and load in a known notation"


def _says_load(item: str) -> bool:
    """Whether an item says its load, so that another number behind an @ is an RPE."""
    loaded = (_SETS_AT, _SETS_REPS_LOAD, _LOAD_SETS_REPS, _REPS_AT_LOAD, _MARKED, _THREE)
    return any(pattern.fullmatch(item) for pattern in loaded)


def _pair(count: str, load: str, reps: str, decimal: str) -> list[Piece] | str:
    weight = parse_load(load, decimal)
    if int(count) == 2 and (weight.value or 0) > _HEAVIEST_OF_PAIR * (2 if weight.unit == "lb" else 1):
        return "may be a pair or two sets: write 2 sets, or each load by itself"
    return _spread(1, reps, replace(weight, implements=int(count)))


def _three(found: re.Match[str], decimal: str) -> list[Piece] | str:
    """``3x8x80`` is sets x reps x load and ``3x100x5`` sets x load x reps, told by which may be reps.

    ``2x22.5 x 12`` is a pair and ``2x 80x8`` two sets: the space tells them apart, and without one nothing
    does.
    """
    first, apart, after, second, before, third = found.groups()
    middle, last = parse_number(second, decimal), parse_number(third, decimal)
    if middle is None or last is None:
        return _ORDERS
    is_pair = int(first) <= 2 and before and not apart and not after
    if third.isdigit() and last <= MOST_USUAL_REPS:
        if is_pair:
            return _pair(first, second, third, decimal) if middle > max(last, 20) or middle % 1 else _ORDERS
        if middle > MOST_USUAL_REPS or middle % 1:
            if int(first) == 2 and (apart or not after):
                return "may be a pair or two sets: write the unit behind the load of a pair"
            return _spread(int(first), third, parse_load(second, decimal))
    if last >= middle and second.isdigit() and middle <= MOST_USUAL_REPS:
        return _spread(int(first), second, parse_load(third, decimal))
    return _ORDERS


def _unit_last(found: re.Match[str], decimal: str, reading: str) -> list[Piece] | str:
    """``8x80kg`` is reps at a load; in ``185x8 lb`` the unit stands at the end of both."""
    first, second = parse_number(found[1], decimal), parse_number(found[2], decimal)
    if first is None or second is None:
        return "is not reps and load in a known notation"
    broken = first % 1 > 0
    if second <= MOST_USUAL_REPS and found[2].isdigit() and (broken or first > max(second, 20)):
        if broken or first > 50 or reading in ("load", "both"):
            return _spread(1, found[2], parse_load(f"{found[1]} {found[3]}", decimal))
        return f"may be {found[1]} {found[3]} or {found[1]} reps: write the unit behind the load"
    return _spread(1, found[1], parse_load(f"{found[2]} {found[3]}", decimal))


def _rpe(text: str) -> bool:
    value = any_number(text)
    return value is not None and 5 <= value <= 10 and (value * 2) % 1 == 0


def _sets_at(sets: str, reps: str, load: str, decimal: str, reading: str) -> list[Piece] | str:
    """``3x8@80kg`` is sets x reps at a load; ``100x5 @8`` is load x reps at an RPE."""
    marked = not re.fullmatch(r"[+-]?" + NUMBER, load)
    if not marked and _rpe(load):
        if reading in ("loads", "both"):
            return _spread(int(sets), reps, parse_load(load, decimal))
        if reading == "sets":
            pieces = _spread(int(sets), reps, None)
            return pieces if isinstance(pieces, str) else _rated(pieces, load)
        if int(sets) > 10:
            return _load_reps_rpe(sets, reps, load, decimal)
        return f"{load} may be a load or an RPE"
    return _spread(int(sets), reps, parse_load(load, decimal))


def _load_reps_rpe(load: str, reps: str, rpe: str, decimal: str) -> list[Piece] | str:
    pieces = _spread(1, reps, parse_load(load, decimal))
    return pieces if isinstance(pieces, str) else _rated(pieces, rpe)


def _rated(pieces: list[Piece], rpe: str) -> list[Piece]:
    value = float(rpe.replace(",", "."))
    rir = rir_of_rpe(value)
    return [replace(piece, rir=rir, note=None if rir is not None else f"RPE {value:g}") for piece in pieces]


def _spread(count: int, reps: str, load: Load | None) -> list[Piece] | str:
    """`count` sets of the reps at the load; ``3x12/10/8`` lists the reps of its three sets."""
    if load is not None and load.problem:
        return load.problem
    if not 1 <= count <= MOST_SETS:
        return f"says {count} sets"
    single = parse_reps_list(reps)
    if isinstance(single, str):
        return single
    told = len(single) if count > 1 and single[-1].role is None else 1
    if told == 2 and single[0].sides:
        both = {piece.reps for piece in single}
        if count == 2 and len(both) > 1:
            return "may be the reps of two sets, or of both sides: write each set by itself"
        told = 1
    if told not in (1, count):
        return f"says {count} sets and lists the reps of {told}"
    return [replace(piece, load=load) for _ in range(count // told) for piece in single]
