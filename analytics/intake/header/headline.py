"""Headline: the columns of one header line, each name read beside the others."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.header.heading import (
    Heading,
    bare_name,
    normal,
    read_heading,
    shortened,
)
from analytics.intake.header.numbering import ROLE_LABELS, SET_WORDS
from analytics.intake.header.sides import SIDE_LETTERS

AMOUNTS = ("load", "added", "reps", "rir", "rpe", "seconds")
"""Fields that each set of a row may have a column of its own for."""
_BRACKETED = re.compile(rf"[(\[]\s*(?:(?:{SET_WORDS})\s?)?#?\s?(\d{{1,2}})\s*[)\]]", re.IGNORECASE)
_BARS, _TOTALS = frozenset(meanings("bar")), frozenset(meanings("total"))
_NOW = frozenset({"today", "now", "this time", "this week", "this session", "current"})
_LONE = frozenset(meanings("lone_exercise")) - {"name"}
_ONE_SET_A_ROW = {"sets", "work", "role", "set_number"}


def read_headings(cells: Sequence[str | None], known: Mapping[str, str]) -> list[Heading]:
    """The columns of one row that are known, in order; a field is taken once unless sides or sets differ."""
    names = _numbered(cells)
    named = [h for i, cell in enumerate(names) if cell and (h := read_heading(i, cell, known))]
    if any(cell and "." in cell for cell in names):
        named = _with_shortened(names, named, known)
    if names is not cells:
        named = [replace(h, text=str(cells[h.column])) for h in named]
    if any(h.field == "rir" for h in named):
        named = _left_beside_right(cells, named)
    if any(h.side for h in named):
        named = _without_half(named)
    named = _without_last(cells, named)
    found: list[Heading] = []
    taken: set[tuple[str, str | None, int | None, str | None]] = set()
    for heading in named:
        key = (heading.field, heading.side, heading.set_number, heading.role)
        if key not in taken:
            taken.add(key)
            found.append(heading)
    return _with_name(cells, _with_roles(_with_load(found)))


def _numbered(cells: Sequence[str | None]) -> Sequence[str | None]:
    """``Reps (1)`` and ``Reps (2)``, or ``(set 1)``, as ``Reps 1`` and ``Reps 2``."""
    found = [_BRACKETED.search(cell) if cell and cell.rstrip()[-1:] in ")]" else None for cell in cells]
    if not {"1", "2"} <= {match[1] for match in found if match}:
        return cells
    return [
        _BRACKETED.sub(r" \1", cell) if cell and match else cell
        for cell, match in zip(cells, found, strict=True)
    ]


def _with_shortened(
    cells: Sequence[str | None], named: list[Heading], known: Mapping[str, str]
) -> list[Heading]:
    """``Éch.`` beside ``Échec`` is the one of the fields it may abbreviate that no other column has."""
    columns, fields = {h.column for h in named}, {h.field for h in named}
    for i, cell in enumerate(cells):
        if cell and "." in cell and i not in columns and len(left := shortened(cell, known) - fields) == 1:
            named = [*named, Heading(i, cell, left.pop())]
    return sorted(named, key=lambda h: h.column)


def _left_beside_right(cells: Sequence[str | None], named: list[Heading]) -> list[Heading]:
    """``Reps left`` beside ``Reps right`` is a side; alone it is what was left in reserve."""
    names = {normal(cell) for cell in cells if cell}

    def is_side(h: Heading) -> bool:
        other = ["right" if word == "left" else word for word in normal(h.text).split()]
        return h.field == "rir" and h.set_number is None and "right" in other and " ".join(other) in names

    return [replace(h, field="reps", side="left") if is_side(h) else h for h in named]


def _without_half(named: list[Heading]) -> list[Heading]:
    """``Sets left`` beside ``Sets``, without ``Sets right``, is what was left to do; so is ``Reps D``."""
    sides = {(h.field, h.side) for h in named}

    def is_half(h: Heading) -> bool:
        other = "right" if h.side == "left" else "left"
        letter = bare_name(h.text).rpartition(" ")[2] in SIDE_LETTERS
        return bool(h.side) and (letter or (h.field, None) in sides) and (h.field, other) not in sides

    def is_lone(h: Heading) -> bool:
        other = "right" if h.side == "left" else "left"
        return h.field in AMOUNTS and h.text.rstrip()[-1:] == ")" and (h.field, other) not in sides

    named = [replace(h, side=None) if h.side and is_lone(h) else h for h in named]
    return [h for h in named if not is_half(h)]


def _without_last(cells: Sequence[str | None], named: list[Heading]) -> list[Heading]:
    """``Last`` is a load in German; beside ``Today`` it is what was done the time before."""
    others = [h for h in named if bare_name(h.text) != "last"]
    if len(others) == len(named):
        return named
    return others if any(cell and bare_name(cell) in _NOW for cell in cells) else named


def _with_load(found: list[Heading]) -> list[Heading]:
    """``Done kg`` beside ``Done reps`` is the load, not work in shorthand."""
    fields = {h.field for h in found}
    if not {"work", "reps"} <= fields or "load" in fields:
        return found
    return [
        replace(h, field="load")
        if h.field == "work" and h.unit in ("kg", "lb") and " x " not in normal(h.text)
        else h
        for h in found
    ]


def _with_roles(found: list[Heading]) -> list[Heading]:
    """``Warm-up kg``, ``Warm-up reps`` beside the columns of other sets: sets of one row in order of columns.

    A role that lacks its load or its reps is left out; so are all where a row is one set.
    """
    if not any(h.role for h in found):
        return found
    found = _with_work(found)
    others = [h for h in found if h.role is None]
    bare = [h for h in others if h.set_number is None]
    sets: dict[tuple[str | None, int | None], list[Heading]] = {}
    for h in found:
        if h.role or h.set_number is not None:
            sets.setdefault((h.role, h.set_number), []).append(h)
    sets = {key: group for key, group in sets.items() if key[0] is None or _whole(group)}
    amounts = [h for h in bare if h.field in AMOUNTS]
    if len(bare) == len(others) and amounts:
        if not _whole(amounts):
            return others
        sets[None, None] = amounts
    if _ONE_SET_A_ROW & {h.field for h in bare} or not any(role for role, _ in sets):
        return others
    order = sorted(sets.values(), key=lambda group: min(h.column for h in group))
    numbered = [replace(h, set_number=n) for n, group in enumerate(order, 1) for h in group]
    taken = {h.column for h in numbered}
    return sorted([*numbered, *(h for h in others if h.column not in taken)], key=lambda h: h.column)


def _with_work(found: list[Heading]) -> list[Heading]:
    """``Working reps`` beside a load of no role, such as ``Working weight``, are the reps of that load."""
    work = [h for h in found if h.role and ROLE_LABELS[h.role] == "working"]
    bare = [h for h in found if h.role is None and h.set_number is None]
    if {h.field for h in work} & {h.field for h in bare} or not _whole([*work, *bare]) or _whole(work):
        return found
    return [replace(h, role=None, set_number=None) if h in work else h for h in found]


def _whole(group: Sequence[Heading]) -> bool:
    fields = {h.field for h in group}
    return bool(fields & {"load", "added"}) and "reps" in fields


def rival_headings(
    cells: Sequence[str | None], found: Sequence[Heading], known: Mapping[str, str]
) -> list[Heading]:
    """The columns whose field another one has taken, of those without a set number or a side."""
    taken = {heading.column for heading in found}
    fields = {heading.field for heading in found}
    others = [read_heading(i, cell, known) for i, cell in enumerate(cells) if cell and i not in taken]
    rivals = [
        h
        for h in _without_last(cells, [h for h in others if h])
        if h.field in fields and h.set_number is None and h.side is None
    ]
    whole = any(h.field == "load" and bare_name(h.text) in _TOTALS for h in found)
    return [h for h in rivals if not (whole and bare_name(h.text) in _BARS)]


def repeated_headings(cells: Sequence[str | None], known: Mapping[str, str]) -> list[Heading]:
    """The columns of a header that repeats ``Weight, Reps`` for each set, numbered in turn; else none.

    A load that stands twice in different units is one load.
    """
    every = [heading for i, cell in enumerate(cells) if cell and (heading := read_heading(i, cell, known))]
    found = [heading for heading in every if heading.role is None]
    if any(heading.set_number is not None or heading.side for heading in found):
        return []
    loads, reps = ([h for h in found if h.field == field] for field in ("load", "reps"))
    if len(reps) < 2 or len(loads) not in (0, 1, len(reps)) or len({h.unit for h in loads}) > 1:
        return []
    if any(len({normal(h.text) for h in same}) > 1 for same in (loads, reps)):
        return []
    seen: dict[str, int] = {}
    numbered = []
    for heading in found:
        if sum(h.field == heading.field for h in found) > 1:
            seen[heading.field] = seen.get(heading.field, 0) + 1
            heading = replace(heading, set_number=seen[heading.field])
        numbered.append(heading)
    return numbered


def _with_name(cells: Sequence[str | None], found: list[Heading]) -> list[Heading]:
    """A column called just ``name`` is the exercise if there is no other, else the athlete.

    So are, without an athlete, ``What`` and ``Machine``, and a column of equipment beside a date.
    """
    fields = {heading.field for heading in found}
    if not fields & {"load", "reps", "work"}:
        return found
    column = next((i for i, cell in enumerate(cells) if plain(tidy(cell)) == "name"), None)
    if column is None and "exercise" not in fields:
        return _with_lone_exercise(cells, found)
    if column is None:
        return found
    field = "athlete" if "exercise" in fields else "exercise"
    if field in fields or any(heading.column == column for heading in found):
        return found
    return sorted([*found, Heading(column, str(cells[column]), field)], key=lambda heading: heading.column)


def _with_lone_exercise(cells: Sequence[str | None], found: list[Heading]) -> list[Heading]:
    taken = {heading.column for heading in found}
    column = next((i for i, cell in enumerate(cells) if i not in taken and normal(cell or "") in _LONE), None)
    if column is not None:
        return sorted([*found, Heading(column, str(cells[column]), "exercise")], key=lambda h: h.column)
    if not any(heading.field == "date" for heading in found):
        return found
    return [replace(h, field="exercise") if h.field == "equipment" else h for h in found]
