"""Meaning: what a column says where its name alone leaves it open, decided by the cells of the whole file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from analytics.errors import BadExport
from analytics.intake.cells.numbers import any_number, tidy
from analytics.intake.cells.units import UNIT_WORDS
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.cells.words import parse_answer, parse_role
from analytics.intake.columns.counts import with_counts, with_ranges, without_totals
from analytics.intake.columns.durations import with_durations
from analytics.intake.columns.parts import combined, joined
from analytics.intake.columns.plates import cure_of, numbers_stack
from analytics.intake.header.heading import Heading, bare_name, normal
from analytics.intake.header.scheme import may_be_load
from analytics.intake.header.sides import SIDES
from analytics.intake.header.total import BARS, PLATES
from analytics.intake.lookup import Texts

_EQUIPMENT = frozenset(meanings("equipment"))
_UNREAD = "kind"
"""The field of a column whose name is known, but whose cells say something else."""
_UNREAD_LOAD = "unread"
_MOST_TICKS = 0.9
"""A column ticks sets off though a line below the table stands in it too."""
_MUSCLE = re.compile(r"(?!super|giant|circuit|paar|pair)[^\W\d]{4,}(?:\W+[^\W\d]+)*")
_LIST = re.compile(r"\d{1,3}(?:\s?[/,+x-]\s?\d{1,3}| \d{1,3})*")
_LABEL = re.compile(r"[a-h]\d{0,2}[.)]?")
_CURE = 'Name it so in its header, such as "{}", or list its header in roster.toml under [columns]'

Columns = dict[int, Texts]


def settled(headings: Sequence[Heading], columns: Columns) -> list[Heading]:
    """The headings of rows without numbered columns, with the field that their cells show."""
    headings = joined(headings, columns)
    asked = {h.column: _without(h.text.strip(), columns[h.column]) for h in headings}
    found = _with_ticks(with_durations(headings, asked), asked)
    found = _with_kinds(_with_labels(found, asked), asked)
    return with_ranges(without_totals(with_counts(found, asked), asked), columns)


def settled_beside_sets(headings: Sequence[Heading], columns: Columns) -> list[Heading]:
    """The headings of rows with numbered columns, without what a column of the whole row cannot say of a set.

    ``Done`` may tick the row off; ``Duration`` beside the reps of each set is the workout's.
    """
    headings = joined(headings, columns)
    own = {h.field for h in headings if h.set_number is not None}
    if not own & {"reps", "work"}:
        return list(headings)
    shared = [h for h in headings if h.set_number is None]
    asked = {h.column: _without(h.text.strip(), columns[h.column]) for h in shared}
    kept = [h for h in _with_ticks(shared, asked) if h.field not in ("work", "seconds")]
    return sorted([*kept, *(h for h in headings if h.set_number is not None)], key=lambda h: h.column)


def _without(name: str, column: Texts) -> Texts:
    """A column whose repeated header says nothing."""
    if name not in column.texts:
        return column
    return Texts(column.ids, tuple(None if text == name else text for text in column.texts))


def with_equipment(headings: Sequence[Heading], columns: Columns) -> None:
    """Put what a lift is done with before its name: ``Bench press`` with a dumbbell is another lift."""
    by = {h.field: h.column for h in headings if h.set_number is None}
    if "equipment" not in by or "exercise" not in by:
        return
    names, tools = columns[by["exercise"]], columns[by["equipment"]]
    spoken = [text if normal(text or "") in _EQUIPMENT else None for text in tools.texts]
    columns[by["exercise"]] = combined([names, Texts(tools.ids, tuple(spoken))], _with_tool)


def _with_tool(name: str | None, tool: str | None) -> str | None:
    known = name is None or tool is None or set(normal(tool).split()) <= set(normal(name).split())
    return name if known else f"{tool} {name}"


def _with_ticks(headings: list[Heading], columns: Columns) -> list[Heading]:
    """A column such as ``Done`` ticks sets off if its cells are yes and no; it may hold the work itself."""
    fields = {h.field for h in headings}
    if {"ticked", "work"} <= fields:
        return headings
    return [replace(h, field=_ticked_or_work(h, columns)) for h in headings]


def _ticked_or_work(heading: Heading, columns: Columns) -> str:
    column = columns[heading.column]
    if heading.field == "skipped" and _counts(column):
        return _UNREAD
    if heading.field not in ("ticked", "work"):
        return heading.field
    answers, filled = column.where(lambda text: parse_answer(text) is not None), column.where(bool)
    if answers is not None and filled is not None and int(answers.sum()) > _MOST_TICKS * int(filled.sum()):
        return "ticked"
    if _holds_work(column):
        return "work"
    return _UNREAD if heading.field == "ticked" and _numbers(column) else heading.field


def _with_labels(headings: list[Heading], columns: Columns) -> list[Heading]:
    """A column ``Set`` that holds A1, A2, B1 labels supersets; B1 is no back-off set there."""
    if any(h.field == "superset" for h in headings):
        return headings
    return [replace(h, field="superset") if _labels(h, columns) else h for h in headings]


def _labels(heading: Heading, columns: Columns) -> bool:
    if heading.field != "set_number":
        return False
    texts = [tidy(text) for text in columns[heading.column].written]
    return any(text.startswith("a") for text in texts) and all(_LABEL.fullmatch(text) for text in texts)


def _with_kinds(headings: list[Heading], columns: Columns) -> list[Heading]:
    """A column ``Type`` with few words for roles says more: ``Back`` is a muscle where no other role stands.
    A column ``Group`` of long words, such as ``Legs``, labels no supersets."""
    return [replace(h, field=_UNREAD) if _kinds(h, columns) else h for h in headings]


def _kinds(heading: Heading, columns: Columns) -> bool:
    texts = columns[heading.column].written
    if heading.field == "superset":
        return bool(texts) and all(_MUSCLE.fullmatch(tidy(text)) for text in texts)
    if heading.field != "role":
        return False
    roles = sum(parse_role(text)[2] is None and tidy(text) != "back" for text in texts)
    return roles < 0.5 * len(texts) and (roles > 0 or any(tidy(text) == "back" for text in texts))


def nothing_missing(
    headings: Sequence[Heading], columns: Columns, unused: Mapping[str, Texts], where: tuple[str, int]
) -> None:
    """Raise BadExport where an unknown column of numbers may be the reps or the load that no column says.

    `unused`: texts of the columns without a meaning, by header.  `where`: the file and the header's line.
    """
    _sides_without_name(unused, where)
    unused = dict(unused) | {h.text.strip(): columns[h.column] for h in headings if h.field == _UNREAD}
    fields = {h.field for h in headings}
    if "work" in fields or any(
        _holds_work(columns[h.column]) for h in headings if h.field in ("load", "sets")
    ):
        return
    for wanted, what, example in (
        ({"reps", "seconds"}, "the reps", "Reps"),
        ({"load", "added"}, "the load", "Weight (kg)"),
    ):
        if fields & wanted:
            continue
        for header, texts in unused.items():
            own = cure_of(header) if what == "the load" else None
            if (own or may_be_load(header)) and (_numbers(texts) or _lists(texts)):
                found = f"no column says {what}; {header[:30]!r} is {'no load' if own else 'not known'}"
                raise BadExport(*where, found, own or _CURE.format(example))


def with_unread(header: Sequence[str | None], headings: list[Heading]) -> list[Heading]:
    """The headings of a header in blocks, with the first column of an unknown name if none says the load.

    One that numbers the plates of a stack has loads in a unit that no cell tells, so that they are set aside.
    """
    fields, taken = {h.field for h in headings}, {h.column for h in headings}
    if fields & {"load", "added", "work"} or "reps" not in fields:
        return headings
    names = [(i, cell) for i, cell in enumerate(header) if i not in taken and cell and may_be_load(cell)]
    if names and numbers_stack(names[0][1]):
        return [*headings, Heading(*names[0], "load", names[0][1].strip())]
    return [*headings, *(Heading(i, cell, _UNREAD_LOAD) for i, cell in names[:1])]


def without_unread(
    rows: list[dict[str, object]], headings: Sequence[Heading], path: str
) -> list[dict[str, object]]:
    """The rows of blocks without those columns.  Raises BadExport where one holds a number beside reps."""
    names = ", ".join(dict.fromkeys(repr(h.text.strip()[:30]) for h in headings if h.field == _UNREAD_LOAD))
    for row in rows:
        text = tidy(str(row.pop(_UNREAD_LOAD, None) or ""))
        if any_number(text) is not None and row.get("reps"):
            found = f"no column of this block says the load; {names} is not known"
            raise BadExport(path, int(str(row["row"])), found, _CURE.format("Weight (kg)"))
    return rows


def no_part_of_load(headings: Sequence[Heading], unused: Iterable[str], where: tuple[str, int]) -> None:
    """Raise BadExport where ``Bar`` stands beside ``Plates`` without a total: neither is what was lifted.

    `unused`: the names of the columns without a meaning.  `where`: the file and the header's line.
    """
    loads = [h.text.strip() for h in headings if h.field in ("load", "work")]
    plates = [name for name in unused if PLATES & set(normal(name).split())]
    bars = [name for name in loads or (unused if plates else ()) if bare_name(name) in BARS]
    if bars and plates:
        found = f"{bars[0][:30]!r} and {plates[0][:30]!r} are parts of a load"
        raise BadExport(*where, found, "Add a column with the whole load, such as Weight (kg)")


def no_count_or_reps(headings: Sequence[Heading], columns: Columns, where: tuple[str, int]) -> None:
    """Raise BadExport where bare numbers under ``Done`` beside sets, reps and loads may be sets or reps."""
    by = {h.field: h for h in headings if h.set_number is None}
    if not {"load", "reps", "sets", "work"} <= by.keys():
        return
    done = by["work"]
    if _numbers(columns[done.column]) and not _holds_work(columns[done.column]):
        found = f"{done.text.strip()[:30]!r} may be the sets or the repetitions that were done"
        raise BadExport(*where, found, "Name it Sets done or Reps done")


def _sides_without_name(unused: Mapping[str, Texts], where: tuple[str, int]) -> None:
    sided = {
        SIDES[normal(header)]: header
        for header, texts in unused.items()
        if normal(header) in SIDES and _numbers(texts)
    }
    if len(sided) > 1:
        found = f"{sided['left']!r} and {sided['right']!r} may be repetitions or loads"
        raise BadExport(*where, found, "Name them so, such as Left reps and Right reps")


def _counts(column: Texts) -> bool:
    """Whether a text is a number above 1, and so none of the column's numbers a tick."""
    return any((any_number(tidy(text)) or 0) > 1 for text in column.written)


def _holds_work(column: Texts) -> bool:
    return any("x" in (words := tidy(text)) and any(c.isdigit() for c in words) for text in column.written)


def _lists(column: Texts) -> bool:
    """Whether most texts of a column are a number or several, ``12/10`` or ``10, 9, 8``."""
    read = sum(_LIST.fullmatch(tidy(text)) is not None for text in column.written)
    return read > 0.5 * len(column.written)


def _numbers(column: Texts) -> bool:
    """Whether most texts of a column are numbers, with or without a unit."""
    texts = [tidy(text) for text in column.written]
    bare = [
        text.rstrip("abcdefghijklmnopqrstuvwxyz#. ") if text.split()[-1] in UNIT_WORDS else text
        for text in texts
        if text
    ]
    read = sum(any_number(text) is not None for text in bare)
    return read > 0.5 * len(texts) > 0
