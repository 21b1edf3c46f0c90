"""Shorthand: several sets written in one cell, such as ``3x8@80kg`` or ``80x8 > 60x8``, to single sets."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable
from dataclasses import replace

from analytics.intake.cells.afterword import split_afterword
from analytics.intake.cells.item import MARKED, MOST_SETS, read_item
from analytics.intake.cells.loads import BODY, EMPTY_WORDS, Load, parse_load
from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.reps import MOST_USUAL_REPS, NUMBER, Piece, timed
from analytics.intake.cells.spoken import ARROW, in_signs
from analytics.intake.cells.units import UNIT

LONGEST = 2000
MOST_SURE_SETS = 5
"""A first number up to this counts sets where nothing says a load.  Common practice, no source."""

_MOST_LIKELY_SETS = 12
"""A first number above this is a load.  Common practice, no source."""
_FAR_HEAVIER = 10
"""No two loads of one lift on one day lie further apart.  Common practice, no source."""
_COUNTED = re.compile(rf"^[1-9]\s?x\s?\d{{1,2}}\s?(?:@|\bat\b)\s?(?:\d{{2,}}|{NUMBER}\s?(?:{UNIT}))")

_AFTER_SET = r"(?:(?<=[\d.,]\dx\d)|(?<=[\d.,]\dx\d\d)|(?<=[\d.,]\d x \d)|(?<=[\d.,]\d x \d\d))"
"""Where a dash can open no range of reps, ``3 x 8 - 10``: behind a first number that counts no sets."""
_SPLIT = re.compile(
    r"\s*(?:[;|\n&]|,(?=\s(?!rpe|rir))|\s\+\s(?=\d+(?:[.,]\d+)?\s*(?:[a-z]+\s*)?x)"
    rf"|(?:\s/\s|{_AFTER_SET}\s-\s)(?=\d+(?:[.,]\d+)?\s*(?:[a-z]+\s*)?x)"
    rf"|\s[-/]\s(?=(?:{BODY})[^/;|]*x)"
    r"|(?:(?<=x\d)|(?<=x\d\d))[/+](?=\d+(?:[.,]\d+)?\s?(?:[a-z]+\s?)?x))\s*"
)
_NEXT_SET = re.compile(rf",(?={NUMBER}\s*(?:{UNIT})?\s*x|bw)")
_LOAD_TOKEN = re.compile(
    rf"(?<![x\d.,])(?<!x )\d+[.,]\d+(?=\s*(?:{UNIT})?\s*(?:x|:))"
    rf"|(?<=@)\d+[.,]\d+|\d+[.,]\d+(?=\s*(?:{UNIT})\b)"
)
_WHOLE_SET = re.compile(r"x\s*\d+(?:/\d+)?\s*[a-z!*]?$|(?:rpe|rir|kg|lb|lbs)\s*\d?$")
_ALONE = re.compile(rf"{NUMBER}\s*(?:{UNIT})?")
_LAST_LINK = re.compile(rf"({NUMBER}\s*(?:{UNIT})?)\s*(?:x|for)\s*(\d{{1,3}}(?:[,/]\d{{1,3}})*)")
_BARE_PAIR = re.compile(
    rf"(?:^|[\s;,>|:(/])(\d+(?:[.,]\d+)?)\s?x\s?\d{{1,3}}(?:(?:,\d{{1,3}}){{2,}}|(?:/\d{{1,3}})+)?(?!\d|[.,]\d|\s?x|\s*(?:{UNIT})(?![a-z])|\s+\d+(?![\dx]|\s?x))"
)
_AT = re.compile(r"\dx\s?\d{1,3}\s?@\s?(\d+(?:[.,]\d+)?)")
_AT_BARE = re.compile(rf"(?<!\d)[1-9]\s?x\s?\d{{1,3}}\s?@\s?(?:1[1-9]|[2-9]\d|\d{{3}})\b(?!\s?(?:{UNIT}))")
"""Sets x reps and, behind an @, a number that is too high for an RPE."""
_HIGHEST_RPE = 10
_RATED = re.compile(
    rf"(?:{UNIT}|bw|\d[.,]\d+|\d\d)\s*x\s?\d{{1,3}}(?:\s?[,/]\s?\d{{1,3}})*\s?@\s?(?:10|\d)(?:[.,]\d)?(?!\d)"
)
"""A load, reps and, behind an @, what can only be an RPE."""
LEAD = re.compile(rf"({MARKED})\s*:\s*(?=\d)")
"""A load before the sets that are done with it."""
_BARE = re.compile(r"\d+(?:[\s,;/]+\d+)*")
_IN_CELLS = re.compile(r"\d+(?:[;\t|]\d+)+")
_TOKEN = rf"{NUMBER}(?:{UNIT})?x\d{{1,3}}(?:[/+]\d{{1,3}})*(?:x\d)?(?:\s?\([^\W\d_][^()\d]{{0,20}}\))?"
_GLUED = re.compile(rf"(?:{_TOKEN}(?:\s+|$)){{2,}}")


def parse_work(text: str | None, decimal: str, reading: str) -> tuple[tuple[Piece, ...], str | None]:
    """(sets, problem) of a cell: the sets in order, or why the cell cannot be read.  All of it or nothing.

    `reading` says what the first number of a bare ``60x12`` is in this file: the ``load`` or the ``sets``, or
    what else `reading_of` tells.
    """
    mixed = reading in ("mixed", "both")
    reading = "load" if reading == "mixed" else reading
    words = _arrows(text)
    if words in EMPTY_WORDS:
        return (), None
    if len(words) > LONGEST:
        return (), "is too long for a list of sets"
    words, remark = split_afterword(words)
    words = in_signs(words)
    before: Load | None = None
    if lead := LEAD.match(words):
        before, reading, words = parse_load(lead[1], decimal), "sets", words[lead.end() :]
        if before.problem:
            return (), before.problem
    loaded = before
    pieces: list[Piece] = []
    chain = 0
    for part in _parts(words, decimal):
        links = _links(part)
        found: list[tuple[Piece, ...]] = []
        for i, link in enumerate(links):
            sets = read_item(link, decimal, reading, before)
            if i and before and _ALONE.fullmatch(link):
                sets = "may be a load or reps: write both for every drop"
            if isinstance(sets, str):
                whole = len(links) + len(pieces) == 1
                return (), sets if whole else f"cannot be read at {link[:40]!r}: {sets}"
            found.append(tuple(replace(piece, load=piece.load or loaded) for piece in sets))
            before = found[-1][-1].load
        if _falls(found):
            chain += 1
            found = [_of_chain(sets, chain, "drop" if i else "working") for i, sets in enumerate(found)]
        pieces += [piece for sets in found for piece in sets]
        if len(pieces) > MOST_SETS:
            return (), f"holds more than {MOST_SETS} sets"
    if remark and pieces:
        pieces[-1] = replace(pieces[-1], note="; ".join(filter(None, (pieces[-1].note, remark))))
    if any(piece.load for piece in pieces) and any(not piece.load and piece.reps for piece in pieces):
        return (), "says the load of some sets only"
    most = _MOST_LIKELY_SETS if mixed and len(pieces) == 1 else MOST_SURE_SETS
    if reading in ("load", "both") and not chain and _only_small(words, pieces, most):
        return (), "may be sets or a load: write kg or lb behind the load"
    return (tuple(pieces), None) if pieces else ((), "holds no set")


def _falls(links: list[tuple[Piece, ...]]) -> bool:
    """Whether linked sets are a drop chain: loads that rise, ``60x12 > 70x10``, are none."""
    loads = [sets[-1].load for sets in links]
    known = [load.value for load in loads if load and load.value is not None]
    units = {load.unit for load in loads if load}
    return len(links) > 1 and (len(units) > 1 or all(b <= a for a, b in itertools.pairwise(known)))


def _of_chain(sets: tuple[Piece, ...], chain: int, role: str) -> tuple[Piece, ...]:
    return tuple(replace(piece, chain=chain, role=piece.role or role) for piece in sets)


def open_numbers(text: str, sets: tuple[Piece, ...]) -> str | None:
    """Why the numbers of a cell without a load, in a file without a column of loads, stay open; else None.

    Bare numbers may be loads where they are high or far apart, or where they stand in cells of their own and
    are two, or do not fall; and ``8x15`` may be 8 kg as well as 8 sets.
    """
    reps = [piece.reps for piece in sets if piece.reps is not None and piece.load is None]
    words = tidy(text)
    if not reps:
        return None
    if any(float(found[1].replace(",", ".")) > MOST_SURE_SETS for found in _BARE_PAIR.finditer(words)):
        return "may be sets or a load: write kg or lb behind the load"
    rises = any(b > a for a, b in itertools.pairwise(reps))
    in_cells = bool(_IN_CELLS.fullmatch(text)) and (len(reps) == 2 or rises)
    if in_cells or (_BARE.fullmatch(words) and (max(reps) > MOST_USUAL_REPS or max(reps) > 2.2 * min(reps))):
        return "may be a load or reps: write kg behind a load, and x before reps"
    return None


@remembered
def reads_as_sets(text: str | None) -> bool:
    """Whether a cell is shorthand under some decimal mark and reading."""
    return any(
        bool(sets) and problem is None
        for decimal in ("point", "comma")
        for reading in ("load", "sets")
        for sets, problem in (parse_work(text, decimal, reading),)
    )


def reading_of(cells: Iterable[str | None], load_elsewhere: bool) -> str:
    """What a bare ``axb`` means in this file, decided by all its cells at once.

    ``sets``: sets x reps, where the load stands in a column of its own; else ``load``, where a first number
    is above 12, or ``mixed``, if other cells say sets x reps @ load, or ``both``, if so does every @; else
    sets x reps too, ``loads`` where some number behind an @ is too high for an RPE, and ``open`` where
    ``3x8@8`` may be either.
    """
    if load_elsewhere:
        return "sets"
    cells = list(cells)
    firsts = [
        float(found[1].replace(",", "."))
        for cell in cells
        for found in _BARE_PAIR.finditer(tidy(cell)[:LONGEST])
    ]
    if any(first > _MOST_LIKELY_SETS or first != int(first) for first in firsts):
        bare = any(_AT_BARE.search(tidy(cell)[:LONGEST]) for cell in cells)
        if bare and not any(_RATED.search(tidy(cell)[:LONGEST]) for cell in cells):
            return "both"
        return "mixed" if any(_COUNTED.search(tidy(cell)[:LONGEST]) for cell in cells) else "load"
    behind = [float(n.replace(",", ".")) for cell in cells for n in _AT.findall(tidy(cell)[:LONGEST])]
    return "loads" if any(number > _HIGHEST_RPE for number in behind) else "open"


def _only_small(words: str, pieces: list[Piece], most: int) -> bool:
    """Whether the first numbers of a cell such as ``3x8, 1x6`` are so low that they may well count sets."""
    firsts = {found[1] for found in _BARE_PAIR.finditer(words)}
    counts = {float(first) for first in firsts if first.isdigit() and int(first) <= most}
    bare = [piece.load.value or 0.0 for piece in pieces if piece.load and not piece.load.unit]
    beside = len(bare) < len(pieces) or (bool(bare) and max(bare) >= _FAR_HEAVIER * min(bare))
    if counts & set(bare) and beside:
        return True  # ``100x5, 3x8`` or ``80 kg x 5, 3x8``
    return bool(bare) and len(bare) == len(pieces) and counts.issuperset(bare)


def _arrows(text: str | None) -> str:
    if text and "\n" in text:
        text = text.replace("\r", "").replace("\n", "; ")
    return timed(tidy(text))


def _links(part: str) -> list[str]:
    """The sets of a drop chain; ``160 > 120 > 80 x 10`` says the reps of all of them, or of each, once."""
    links = [link for link in ARROW.split(part) if link]
    last = _LAST_LINK.fullmatch(links[-1]) if links else None
    if last is None or len(links) < 2 or not all(_ALONE.fullmatch(link) for link in links[:-1]):
        return links
    reps = re.split(r"[,/]", last[2])
    if len(reps) not in (1, len(links)):
        return links
    return [f"{load} x {reps[i % len(reps)]}" for i, load in enumerate([*links[:-1], last[1]])]


def _parts(words: str, decimal: str) -> list[str]:
    split: list[str] = []
    for part in _SPLIT.split(words):
        if tokens := _spaced(part):
            split += tokens
            continue
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


def _spaced(part: str) -> list[str]:
    """The sets of a stretch parted by spaces, ``40x15 50x12``, if all of their loads are of one size."""
    if not _GLUED.fullmatch(part):
        return []
    tokens = re.findall(_TOKEN, part)
    loads = [int(re.split(r"\D", token)[0]) for token in tokens]
    return tokens if max(loads) > 12 and max(loads) < 6 * min(loads) else []


def decimal_tokens(cells: Iterable[str | None]) -> list[str]:
    """Numbers of shorthand cells that can only be loads, for deciding the file's decimal mark."""
    tokens: list[str] = []
    for cell in cells:
        tokens += _LOAD_TOKEN.findall(tidy(cell)[:LONGEST])
    return tokens
