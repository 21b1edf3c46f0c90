"""Blocks: sets under heading lines (a date, a workout, an exercise, a header) to one table of text fields."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from analytics.intake.cells.dates import read_moment
from analytics.intake.cells.dayline import (
    names_other_day,
    opening_day,
    read_day_line,
    reps_like_a_day,
    tells_how_it_went,
)
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.vocabulary import spare_names
from analytics.intake.columns.carry import carry_in_blocks
from analytics.intake.columns.meaning import with_unread, without_unread
from analytics.intake.header.groups import is_label_line, without_others
from analytics.intake.header.heading import Heading, normal
from analytics.intake.header.headline import read_headings, repeated_headings
from analytics.intake.header.scheme import LOOKED_AT, with_scheme
from analytics.intake.sheet.sections import LABELLED

_NUMBER = re.compile(r"[\d.,\s]+")
_HEADING_FIELDS = ("date", "exercise", "athlete", "session", "note", "time")

Record = tuple[int, Sequence[str | None]]


@dataclass
class _State:
    """What the heading lines above a record said."""

    day: str | None = None
    exercise: str | None = None
    session: str | None = None
    athlete: str | None = None
    time: str | None = None
    pending: list[str] = field(default_factory=list)


def read_blocks(
    records: Sequence[Record], known: Mapping[str, str], is_remark: Callable[[str], bool], path: str
) -> tuple[list[dict[str, object]], list[Heading], tuple[str, ...]]:
    """(one dictionary of fields per set row with its `row`, all headings seen, remarks for the ledger).

    A line with one filled cell is a heading: a date if it reads as one, else the last one before a header
    or a set names the exercise and one before that the workout.  A heading may carry its label, ``Date:
    5.1.2026``. `is_remark` says which texts are totals or comments.  Raises BadExport where the load may
    stand in a column of an unknown name.
    """
    state = _State()
    headings: list[Heading] = []
    seen: list[Heading] = []
    found: list[dict[str, object]] = []
    blocks: list[int] = []
    block = 0
    for at, (line, record) in enumerate(records):
        filled = [(i, cell.strip()) for i, cell in enumerate(record) if cell and cell.strip()]
        if not filled or is_remark(filled[0][1]):
            continue
        header = _header(records, at, known, bool(headings))
        if header:
            headings = header
            seen.extend(header)
            block = at
            _settle(state)
        elif _heading_line(filled, known, state) or _labels(records, at, known):
            block = at
        elif headings:
            _settle(state)
            own = {
                "date": state.day,
                "exercise": state.exercise,
                "session": state.session,
                "athlete": state.athlete,
                "time": state.time,
            }
            for row in _rows(record, headings):
                missing = {name: value for name, value in own.items() if value and not row.get(name)}
                found.append(row | missing | {"row": line})
                blocks.append(block)
    return without_unread(found, seen, path), seen, carry_in_blocks(found, blocks)


def _rows(record: Sequence[str | None], headings: list[Heading]) -> list[dict[str, object]]:
    """The sets of one record: one, or one for each set number that the header carries."""
    shared: dict[str, object] = {}
    numbered: dict[int, dict[str, object]] = {}
    if (unit := next((h.unit for h in headings if h.field in ("load", "work") and h.unit), None)) and all(
        h.field != "unit" for h in headings
    ):
        shared["unit"] = unit
    for h in headings:
        text = record[h.column] if h.column < len(record) else None
        if h.set_number is None:
            shared[h.field] = text
        elif text and text.strip():
            numbered.setdefault(h.set_number, {"role": h.role} if h.role else {})[h.field] = text
    return [shared | numbered[number] for number in sorted(numbered)] or [shared]


def _header(
    records: Sequence[Record], at: int, known: Mapping[str, str], again: bool
) -> list[Heading] | None:
    record = list(records[at][1])
    headings = read_headings(record, known)
    if headings and at:
        record, _ = without_others(records[at - 1][1], record, known)
        headings = repeated_headings(record, known) or read_headings(record, known)
    if headings:
        headings = with_scheme(record, [cells for _, cells in records[at + 1 : at + LOOKED_AT]], headings)
    names = {h.field for h in headings}
    filled = sum(1 for cell in record if cell and cell.strip())
    done = names & {"load", "added", "reps", "seconds", "work"}
    columns = {h.column for h in headings}
    others = [cell.strip() for i, cell in enumerate(record) if cell and i not in columns]
    if any(cell[:1].isdigit() and normal(cell) not in spare_names() for cell in others):
        return None
    enough = len(names) >= 2 or (again and filled == 1)
    return with_unread(record, headings) if done and enough and len(headings) >= 0.5 * filled else None


def _labels(records: Sequence[Record], at: int, known: Mapping[str, str]) -> bool:
    """Whether a line holds labels over the columns of the header below it."""
    return (
        at + 1 < len(records)
        and is_label_line(records[at][1])
        and bool(_header(records, at + 1, known, False))
    )


def _heading_line(filled: list[tuple[int, str]], known: Mapping[str, str], state: _State) -> bool:
    """Take a heading line into `state`; whether it was one."""
    text = " ".join(cell for _, cell in filled)
    first = filled[0][1]
    if (len(filled) == 2 and first.endswith((":", "="))) or (
        len(filled) == 2 and known.get(normal(first)) in _HEADING_FIELDS
    ):
        return _labelled(normal(first), filled[1][1], known, state)
    if (
        len(filled) == 1
        and (found := LABELLED.fullmatch(first))
        and known.get(normal(found[1])) in _HEADING_FIELDS
    ):
        return _labelled(normal(found[1]), found[2], known, state)
    if reps_like_a_day(text, state.day):
        return False
    if len(filled) <= 2 and _is_day(filled, text):
        _new_day(text, state)
        return True
    if len(filled) <= 4 and (told := _dated(filled)):
        _new_day(told[0], state)
        state.session = told[1]
        return True
    if len(filled) == 1 and filled[0][0] == 0:
        if names_other_day(first, state.day):
            _new_day(first, state)
            return True
        if begun := opening_day(first):
            _new_day(begun[0], state)
            state.session = begun[1]
            return True
        if tells_how_it_went(first):
            return True
        if not _NUMBER.fullmatch(first):
            state.pending.append(first)
            return True
    return False


def _is_day(filled: list[tuple[int, str]], text: str) -> bool:
    """Whether one or two cells are a day; ``17.5`` beside ``10`` is a load beside reps."""
    if read_moment(text).problem is not None or re.fullmatch(r"\d{1,5}", tidy(text)):
        return False
    numbers = [cell for _, cell in filled if _NUMBER.fullmatch(tidy(cell))]
    return len(filled) == 1 or all(re.fullmatch(r"\d{4}", number) for number in numbers)


def _dated(filled: list[tuple[int, str]]) -> tuple[str, str | None] | None:
    """(day, other words) of a heading of one or several cells, none of them just a number."""
    cells = [cell for _, cell in filled]
    if any(_NUMBER.fullmatch(tidy(cell)) and read_moment(cell).problem for cell in cells):
        return None
    return read_day_line(" - ".join(cells))


def _labelled(label: str, value: str, known: Mapping[str, str], state: _State) -> bool:
    name = known.get(label)
    if name == "date":
        _new_day(value, state)
    elif name == "exercise":
        state.pending.append(value)
    elif name == "session":
        state.session = value
    elif name == "athlete":
        state.athlete = value
    elif name == "time":
        state.time = value
    return name in _HEADING_FIELDS


def _new_day(text: str, state: _State) -> None:
    state.day, state.exercise, state.session, state.time = text, None, None, None
    state.pending.clear()


def _settle(state: _State) -> None:
    if state.pending:
        state.exercise = state.pending[-1]
        if len(state.pending) > 1:
            state.session = state.pending[-2]
        state.pending.clear()
