"""Matrix: a row for each day and a column for each exercise, its cells in shorthand, to text fields."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from analytics.errors import BadExport
from analytics.intake.cells.dates import read_moment
from analytics.intake.sheet.headline import read_headings
from analytics.intake.sheet.scheme import LOOKED_AT, share_of_sets

_SHARED = ("date", "time", "session", "athlete", "note")
_SEARCHED = 80

Record = tuple[int, Sequence[str | None]]


def read_matrix(
    records: Sequence[Record], known: Mapping[str, str], is_remark: Callable[[str], bool], path: str
) -> tuple[list[dict[str, object]], tuple[str, ...]] | None:
    """(one dictionary of `row, date, exercise, work` per filled cell, remarks); None where it is no matrix.

    Raises BadExport where the columns are the days: a line would hold days before and after the run.
    """
    for at, (line, header) in enumerate(records[:_SEARCHED]):
        below = [cells for _, cells in records[at + 1 : at + 1 + LOOKED_AT]]
        _refuse_days_across(line, header, below, path)
        headings = read_headings(header, known)
        shared = [h for h in headings if h.field in _SHARED and h.set_number is None]
        if "date" not in {h.field for h in shared} or any(h.field == "exercise" for h in headings):
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
            if any(cell and is_remark(cell) for cell in own.values()):
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


def _says_names(below: Sequence[Sequence[str | None]], column: int) -> bool:
    """Whether most rows have words without a number in a column."""
    cells = [cells[column] or "" for cells in below if column < len(cells) and any(cells)]
    worded = sum(any(c.isalpha() for c in cell) and not any(c.isdigit() for c in cell) for cell in cells)
    return worded > 0.5 * len(cells)


def _refuse_days_across(
    line: int, header: Sequence[str | None], below: Sequence[Sequence[str | None]], path: str
) -> None:
    days = [i for i, cell in enumerate(header) if cell and read_moment(cell).problem is None]
    if len(days) < 2 or not any(share_of_sets(below, i) >= 0.5 for i in days):
        return
    first = str(header[days[0]]).strip()
    raise BadExport(
        path,
        line,
        f"its columns are days ({first!r} and {len(days) - 1} more)",
        "Transpose it in the spreadsheet, so that every day is a row and every exercise a column",
    )
