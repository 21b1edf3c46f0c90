"""Matrix: days by exercises, whichever are the columns, with shorthand in the cells, to text fields."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence

from analytics.errors import BadExport
from analytics.intake.cells.dates import read_moment
from analytics.intake.cells.dayline import is_day, read_short_day
from analytics.intake.cells.shorthand import reads_as_sets
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.header.heading import Heading, normal
from analytics.intake.header.headline import read_headings
from analytics.intake.header.scheme import LOOKED_AT, share_of_sets
from analytics.intake.sheet.years import dated, said_years

_SHARED = ("date", "time", "session", "athlete", "note")
_OF_THE_DAY = frozenset(meanings("of_the_day"))
_DAY_FIELDS = ("note", "session_rpe", "rpe", "time")
"""Fields that a line of a table of days says of the day, beside the lines of its lifts."""
_SEARCHED = 80

Record = tuple[int, Sequence[str | None]]


def read_matrix(
    records: Sequence[Record], known: Mapping[str, str], is_remark: Callable[[str], bool], path: str
) -> tuple[list[dict[str, object]], tuple[str, ...]] | None:
    """(one dictionary of `row, date, exercise, work` per filled cell, remarks); None where it is no matrix.

    Where the columns are the days each has a `part` too, the number of its column.  Raises BadExport where
    no column of such a table names the exercises.
    """
    for at, (_, header) in enumerate(records[:_SEARCHED]):
        under = [cells for _, cells in records[at + 1 : at + 1 + LOOKED_AT]]
        below = [cells for cells in under if not _of_the_day(next(filter(None, cells), ""), known)]
        if _has_days(header, below, known):
            return _days_across(records, at, known, is_remark, path)
        headings = read_headings(header, known)
        shared = [h for h in headings if h.field in _SHARED and h.set_number is None]
        if any(h.field == "exercise" for h in headings) or any(map(reads_as_sets, header)):
            continue
        if "date" not in {h.field for h in shared}:
            shared += _with_days(header, below, is_remark)[:1]
        if "date" not in {h.field for h in shared}:
            continue
        taken = {h.column for h in shared}
        names = {i: cell.strip() for i, cell in enumerate(header) if cell and cell.strip() and i not in taken}
        lifts = {i: name for i, name in names.items() if share_of_sets(below, i) >= 0.5}
        if not lifts or len(lifts) < 0.5 * len(names):
            continue
        if len(lifts) == 1 and any(_says_names(below, i) for i in names if i not in lifts):
            continue  # that column names the exercises, and nobody knows its own name
        rows: list[dict[str, object]] = []
        wordy = 0
        for number, cells in records[at + 1 :]:
            own = {h.field: cells[h.column] if h.column < len(cells) else None for h in shared}
            first = next((cell for cell in cells if cell and cell.strip()), None)
            if any(cell and is_remark(cell) for cell in (first, *own.values())):
                continue
            for column, name in lifts.items():
                cell = cells[column] if column < len(cells) else None
                if cell and any(c.isdigit() for c in cell):
                    rows.append({**own, "row": number, "exercise": name, "work": cell})
                elif cell and cell.strip() and cell.strip() != name:
                    wordy += 1
        unused = [name for i, name in names.items() if i not in lifts]
        remarks = [f"columns not used: {', '.join(unused[:5])}"] if unused else []
        remarks += [f"{wordy} cells of words, without a set"] if wordy else []
        return rows, tuple(remarks)
    return None


def _with_days(
    header: Sequence[str | None], below: Sequence[Sequence[str | None]], is_remark: Callable[[str], bool]
) -> list[Heading]:
    """The columns all of whose cells are days or totals, under no name or one that is no day itself."""
    width = max((len(cells) for cells in below), default=0)
    names = [*header, *[None] * width][:width]
    found = []
    for column, name in enumerate(names):
        written = [cells[column] or "" for cells in below if column < len(cells)]
        texts = [text for text in written if text.strip() and not is_remark(text)]
        if len(texts) > 1 and all(map(_is_day, texts)) and read_moment(name).problem is not None:
            found.append(Heading(column, name or "", "date"))
    return found


def _is_day(text: str) -> bool:
    """Whether a text is a day, with its year or without one, and no bare number."""
    cell = text.strip()
    return is_day(cell) and not re.fullmatch(r"[\d.,]{1,5}", cell)


def _says_names(below: Sequence[Sequence[str | None]], column: int) -> bool:
    """Whether most rows have words without a number in a column."""
    cells = [cells[column] or "" for cells in below if column < len(cells) and any(cells)]
    worded = sum(any(c.isalpha() for c in cell) and not any(c.isdigit() for c in cell) for cell in cells)
    return worded > 0.5 * len(cells)


def _days(header: Sequence[str | None]) -> dict[int, str]:
    """The cells of a line that are days, with their year or without one, by column."""
    cells = {i: cell.strip() for i, cell in enumerate(header) if cell}
    days = {i: cell for i, cell in cells.items() if read_moment(cell).problem is None or read_short_day(cell)}
    return (
        days if len(days) > 1 and not any(re.fullmatch(r"[\d.,]{1,5}", day) for day in days.values()) else {}
    )


def _has_days(
    header: Sequence[str | None], below: Sequence[Sequence[str | None]], known: Mapping[str, str]
) -> bool:
    """Whether the columns are days; ``12/10`` may be repetitions, unless a heading stands before it."""
    days = _days(header)
    name = next((cell for cell in header[: min(days)] if cell and cell.strip()), None) if days else None
    sure = any(c.isalpha() for day in days.values() for c in day) or name is None
    sure = (
        sure
        or all(re.search(r"\d{4}|\.", day) for day in days.values())
        or bool(read_headings([name], known))
    )
    return sure and sum(share_of_sets(below, i) >= 0.5 for i in days) > 0.5 * len(days)


def _of_the_day(name: str, known: Mapping[str, str]) -> bool:
    """Whether a line of a table of days says more of the days, ``Notes`` or ``Sleep``, and names no lift."""
    return known.get(normal(name)) in _DAY_FIELDS or normal(name) in _OF_THE_DAY


def _days_across(
    records: Sequence[Record], at: int, known: Mapping[str, str], is_remark: Callable[[str], bool], path: str
) -> tuple[list[dict[str, object]], tuple[str, ...]]:
    """The rows of a table with a column for each day; a later line of days opens the next weeks."""
    line, header = records[at]
    below = [cells for _, cells in records[at + 1 : at + 1 + LOOKED_AT]]
    first = _days(header)
    named = [h.column for h in read_headings(header, known) if h.field == "exercise"]
    named += [i for i in range(min(first)) if i not in named and _says_names(below, i)]
    if not named:
        found = f"its columns are days ({first[min(first)]!r} and {len(first) - 1} more)"
        raise BadExport(path, line, found, "Name the column of the exercises in the same line")
    years = [year for _, record in records[:at] if (year := said_years(record))]
    days: dict[int, str] = {}
    rows: list[dict[str, object]] = []
    others: list[str] = []
    for number, cells in records[at:]:
        name = (cells[named[0]] or "").strip() if named[0] < len(cells) else ""
        if (year := said_years(cells)) is not None:
            years.append(year)
        if name == (header[named[0]] or "").strip() and (again := _days(cells)):
            told = dated([read_short_day(day) for day in again.values()], years[-1] if years else None)
            days = {i: day or text for (i, text), day in zip(again.items(), told, strict=True)}
            continue
        if _of_the_day(name, known):
            others.append(name[:30])
        elif not name or not is_remark(name):
            rows += [
                {"row": number, "part": i, "date": day, "exercise": name or None, "work": cells[i]}
                for i, day in days.items()
                if i < len(cells) and any(c.isdigit() for c in cells[i] or "")
            ]
    words = {
        i: cell for i, cell in enumerate(header) if cell and cell.strip() and i not in {named[0], *first}
    }
    remarks = [f"columns not used: {', '.join(words.values())}"] if words else []
    remarks += [f"lines not used: {', '.join(others[:5])}"] if others else []
    return rows, tuple(remarks)
