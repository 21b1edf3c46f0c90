"""Groups: labels in the line above a header that stand over several of its columns."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from analytics.intake.cells.dates import read_moment
from analytics.intake.cells.numbers import parse_number, tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.sheet.header import normal, read_heading
from analytics.intake.sheet.headline import AMOUNTS
from analytics.intake.sheet.numbering import ROLE_LABELS
from analytics.intake.sheet.scheme import NOT_DONE

_SET_LABEL = re.compile(r"(?:set|satz|serie|series|s)\s?\d{1,2}|\d{1,2}(?:st|nd|rd|th)?\s?(?:set|satz|serie)")
_DAY = re.compile(
    r"(?:week|wk|woche|kw|semana|sem|semaine|settimana|day|tag|dia|jour|giorno|dag)\s?\d{1,2}\b.*"
)
_WEEKDAYS = frozenset(word for word in meanings("weekday") if len(word) > 2)

Cells = Sequence[str | None]


def names_sets(cell: str | None) -> bool:
    """Whether a label names one set, such as ``Set 1`` or ``Warm-up``."""
    return bool(_SET_LABEL.fullmatch(plain(tidy(cell)))) or normal(cell or "") in ROLE_LABELS


def is_label_line(cells: Cells) -> bool:
    """Whether a line may hold labels: at least two, none of them a number, and none over the first column."""
    filled = [tidy(cell) for cell in cells if cell and cell.strip()]
    return (
        len(filled) > 1
        and not (cells[0] or "").strip()
        and all(parse_number(t, "point") is None for t in filled)
    )


def without_others(
    above: Cells, header: list[str | None], known: Mapping[str, str]
) -> tuple[list[str | None], list[str]]:
    """(header, labels): names under ``Planned``, ``Last week`` or one of several days begin with it.

    Such a name is known to nobody, so the column is not used.  Where no other amount stands beside what was
    planned, nothing changes.  The labels of several days are told.
    """
    starts = [i for i, cell in enumerate(above[: len(header)]) if cell and cell.strip()]
    if not starts:
        return header, []
    amounts = {i for i, cell in enumerate(header) if cell and _is_amount(cell, known)}
    labels = {i: str(above[i]).strip() for i in starts if i in amounts and normal(str(above[i])) not in known}
    days = [i for i, text in labels.items() if _is_day(text)]
    days = days if len(days) > 1 else []
    others = {*days, *(i for i, text in labels.items() if NOT_DONE.search(plain(tidy(text))))}
    ends = zip(starts, [*starts[1:], len(header)], strict=True)
    under = {i: labels[a] for a, end in ends if a in others for i in range(a, end) if i in amounts}
    if not under or (not days and amounts <= under.keys()):
        return header, []
    named = [f"{under[i]} {cell}" if i in under else cell for i, cell in enumerate(header)]
    return named, [labels[i] for i in days]


def _is_amount(cell: str, known: Mapping[str, str]) -> bool:
    heading = read_heading(0, cell, known)
    return heading is not None and heading.field in (*AMOUNTS, "sets", "work")


def _is_day(label: str) -> bool:
    words = normal(label)
    if _DAY.fullmatch(words) or (words and words.split()[0] in _WEEKDAYS):
        return True
    return not label.isdigit() and read_moment(label).problem is None
