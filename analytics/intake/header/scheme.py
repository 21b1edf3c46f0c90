"""Scheme: columns that their cells tell to be shorthand, where their name alone does not."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from analytics.intake.cells.dates import read_moment
from analytics.intake.cells.effort import parse_seconds
from analytics.intake.cells.loads import EMPTY_WORDS
from analytics.intake.cells.numbers import any_number, tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.shorthand import reads_as_sets
from analytics.intake.cells.vocabulary import meanings, spare_names
from analytics.intake.cells.words import parse_role
from analytics.intake.header.heading import Heading, bare_name, normal, unit_of
from analytics.intake.header.numbering import ROLE_LABELS
from analytics.intake.header.total import with_total

LOOKED_AT = 40
"""Rows below a header that are asked; common practice, no source."""
_ORDINAL = re.compile(r"#?\s?(\d{1,2})\s?(?:st|nd|rd|th|er|ere|eme|e|te|a|o|º|ª|°|[.):])?")

_LABELS, _PLANNED = (frozenset(meanings(kind)) for kind in ("label", "planned"))
_LABEL = re.compile(r"[a-h]\d{0,2}[.)]?")
_SETS = {"set", "sets", "satze", "serie", "series"}
_DONE = frozenset(meanings("done"))
_ROLES = ("warm_up", "working", "back_off", "drop")
_COUNTS = ("sets", "set_number", "ticked")
NOT_DONE = re.compile(
    r"target|plan|goal|prescri|soll|ziel|vorgabe|objeti|objecti|obiettiv|meta|doel|last|prev|best|record|max"
    r"|letzt|vorig|anterior|preced|scors|pasad|passe|passat|ultim|dernier|program|next|nachst|prochain|prossim|proxim|volgend"
)
"""What was planned, or done another time, is no work of that day."""

Cells = Sequence[str | None]


def with_scheme(header: Cells, below: Sequence[Cells], headings: list[Heading]) -> list[Heading]:
    """The headings of a header line, with the columns that hold shorthand by what the rows below say.

    Nothing is added where a column of reps, time or work is named.  Bare numbers under ``Sets done`` beside
    loads and reps count the sets, under ``Done`` they are the reps, and under ``Result`` they say nothing.
    Else a column of ``Sets`` or ``Done`` that holds ``3x8@80`` is work; so are columns named only ``1, 2, 3``
    (beside a column of loads their cells may be bare reps), or the one column of an unknown name, beside the
    exercise or the date.
    """
    headings = _with_tempo(header, below, _with_labels(header, below, headings))
    headings = with_total(header, below, headings)
    fields = {h.field for h in headings}
    if {"load", "reps", "work"} <= fields:
        return _with_bare_work(below, headings)
    if fields & {"reps", "seconds", "work"}:
        return headings
    if "load" not in fields and (of_roles := _of_roles(header, below, headings)):
        return of_roles
    counted = next((h for h in headings if h.field in _COUNTS and h.set_number is None), None)
    if counted and "load" not in fields and share_of_sets(below, counted.column) > 0:
        return [replace(h, field="work") if h is counted else h for h in headings]
    if not fields & {"exercise", "date"}:
        return headings
    taken = {h.column for h in headings}
    numbered = _numbered(header, taken)
    bare = "load" in fields
    if len(numbered) > 1 and share_of_sets(below, numbered[0].column, bare=bare) >= 0.5:
        return sorted([*headings, *numbered], key=lambda h: h.column)
    if "exercise" in fields and "load" not in fields:
        names = {i: cell for i, cell in enumerate(header) if cell and cell.strip() and i not in taken}
        other = [
            i for i, cell in names.items() if read_moment(cell).problem is not None
        ]  # no day: see matrix
        short = [
            i for i in other if not NOT_DONE.search(plain(tidy(header[i]))) and share_of_sets(below, i) >= 0.5
        ]
        if len(short) == 1:
            return sorted(
                [*headings, Heading(short[0], str(header[short[0]]), "work")], key=lambda h: h.column
            )
    return headings


def _with_labels(header: Cells, below: Sequence[Cells], headings: list[Heading]) -> list[Heading]:
    """A column such as ``Block`` or ``Order`` that holds A1, A2, or A, B1, B2, labels supersets."""
    taken = {h.column for h in headings}
    if any(h.field == "superset" for h in headings):
        return headings
    for column, cell in enumerate(header):
        if not cell or column in taken or normal(cell) not in _LABELS:
            continue
        texts = [text for text in _tidied(below, column) if text and text != tidy(cell)]
        paired = "a1" in texts or any(f"{text[0]}2" in texts for text in texts if text[1:] == "1")
        if paired and all(_LABEL.fullmatch(text) for text in texts):
            return sorted([*headings, Heading(column, cell, "superset")], key=lambda h: h.column)
    return headings


def _with_tempo(header: Cells, below: Sequence[Cells], headings: list[Heading]) -> list[Heading]:
    """``Tempo`` is how long a set took, as in Italian, by a unit in its header or cells such as ``1:00``."""
    if any(h.field == "seconds" for h in headings):
        return headings
    for column, cell in enumerate(header):
        if not cell or bare_name(cell) != "tempo" or any(h.column == column for h in headings):
            continue
        texts = [text for text in _tidied(below, column) if text not in (*EMPTY_WORDS, tidy(cell))]
        timed = all(not text.isdigit() and parse_seconds(text, "s")[1] is None for text in texts)
        if texts and (timed or unit_of(cell) in ("s", "min")):
            return sorted(
                [*headings, Heading(column, cell, "seconds", unit_of(cell))], key=lambda h: h.column
            )
    return headings


def _with_bare_work(below: Sequence[Cells], headings: list[Heading]) -> list[Heading]:
    work = next((h for h in headings if h.field == "work" and h.set_number is None), None)
    if work is None or not _bare(below, work.column):
        return headings
    words = set(normal(work.text).split())
    others = [h for h in headings if h is not work]
    if words & _SETS:
        counted = any(h.field == "sets" for h in others)
        return others if counted else [replace(h, field="sets") if h is work else h for h in headings]
    return headings if words & _DONE else others


def _bare(below: Sequence[Cells], column: int) -> bool:
    """Whether a column holds numbers alone."""
    cells = [cell for cell in _tidied(below, column) if cell]
    numbers = sum(any_number(cell) is not None for cell in cells)
    return numbers > 0.5 * len(cells) and share_of_sets(below, column) == 0


def _tidied(below: Sequence[Cells], column: int) -> list[str]:
    return [tidy(record[column]) for record in below[:LOOKED_AT] if len(record) > column]


def _of_roles(header: Cells, below: Sequence[Cells], headings: list[Heading]) -> list[Heading]:
    """The headings with columns of shorthand for sets of one role each, ``Warm up``, ``Work sets``, numbered.

    One that only says ``Sets`` beside them, or has an unknown name, holds sets of which the log says no role.
    An effort of the row is that of the working sets.
    """
    others = {h.column for h in headings if h.field not in ("warm_up", "role", "sets", "set_number", "work")}
    named = [(i, bare_name(cell)) for i, cell in enumerate(header) if cell and i not in others]
    found = [(i, n) for i, n in named if not NOT_DONE.search(n) and share_of_sets(below, i) >= 0.5]
    roles = {i: _role_named(name) for i, name in found}
    if len(found) < 2 or not any(roles.values()):
        return []
    sets = [Heading(i, str(header[i]), "work", None, None, n, roles[i]) for n, (i, _) in enumerate(found, 1)]
    working = [h.set_number for h in sets if not h.role or parse_role(h.role)[0] == "working"]
    n = working[0] if len(working) == 1 else None
    kept = [
        replace(h, set_number=n) if h.field in ("rir", "rpe") else h
        for h in headings
        if h.column not in roles
    ]
    return sorted([*kept, *sets], key=lambda h: h.column)


def _role_named(name: str) -> str | None:
    """The name of a column of sets of one role; else None."""
    return name if name not in _SETS and (name in ROLE_LABELS or parse_role(name)[0] in _ROLES) else None


def _numbered(header: Cells, taken: set[int]) -> list[Heading]:
    """The columns named 1, 2, 3 and so on, in this order from the first one on."""
    found: list[Heading] = []
    for column, cell in enumerate(header):
        number = _ORDINAL.fullmatch(tidy(cell)) if cell and column not in taken else None
        if number and int(number[1]) == len(found) + 1:
            found.append(Heading(column, str(cell), "work", set_number=len(found) + 1))
    return found


def share_of_sets(below: Sequence[Cells], column: int, *, bare: bool = False) -> float:
    """The share of a column's filled cells that are sets in shorthand (or `bare` reps)."""
    cells = [
        cell
        for record in below[:LOOKED_AT]
        if len(record) > column and (cell := record[column]) and tidy(cell) not in EMPTY_WORDS
    ]
    read = sum(reads_as_sets(cell) and (bare or not tidy(cell).isdigit()) for cell in cells)
    return read / len(cells) if cells else 0.0


def may_be_load(header: str) -> bool:
    """Whether an unknown name may be that of a load, or of reps."""
    name = bare_name(header)
    return bool(name) and name not in spare_names() and not _PLANNED & set(name.split())
