"""Groups: labels in the line above a header that stand over several of its columns."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from analytics.intake.cells.dates import read_moment
from analytics.intake.cells.numbers import parse_number, tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.header.heading import SIDES, normal, read_heading
from analytics.intake.header.headline import AMOUNTS
from analytics.intake.header.numbering import ROLE_LABELS, SET_WORDS
from analytics.intake.header.scheme import NOT_DONE

_SET_LABEL = re.compile(r"(?:set|satz|serie|series|s)\s?\d{1,2}|\d{1,2}(?:st|nd|rd|th)?\s?(?:set|satz|serie)")
_DAY = re.compile(
    r"(?:week|wk|woche|kw|semana|sem|semaine|settimana|day|tag|dia|jour|giorno|dag)\s?\d{1,2}\b.*"
)
_DONE = frozenset(meanings("done"))
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
    """(header, labels that contradict each other): names under ``Planned`` or ``Left`` hold it.

    ``Planned kg`` is known to nobody, so the column is not used.  That happens to what was planned or done
    another time, where amounts of that day stand beside it; and to all columns of two labels that name the
    same amount, such as two days or two athletes, unless one of them says that it was done.
    """
    starts = [i for i, cell in enumerate(above[: len(header)]) if cell and cell.strip()]
    if not starts:
        return header, []
    amounts = {i: field for i, cell in enumerate(header) if cell and (field := _amount(cell, known))}
    labels = {i: str(above[i]).strip() for i in starts if i in amounts and not _amount(str(above[i]), known)}
    ends = dict(zip(starts, [*starts[1:], len(header)], strict=True))
    under = {i: [j for j in range(i, ends[i]) if j in amounts] for i in labels}
    others = {i for i, text in labels.items() if NOT_DONE.search(plain(tidy(text)))}
    others = others if amounts.keys() - {j for i in others for j in under[i]} else set()
    told = [i for i, text in labels.items() if i not in others and _tells_apart(text)]
    rivals = [i for i in told if any(_same(amounts, under[i], under[j]) for j in told if j != i)]
    done = [i for i in rivals if _DONE & set(normal(labels[i]).split())]
    others |= set(rivals) - (set(done) if len(done) == 1 else set())
    sides = {i for i, text in labels.items() if normal(text) in SIDES}
    named = {j: f"{labels[i]} {header[j]}" for i in others for j in under[i]}
    named |= {j: f"{header[j]} {labels[i]}" for i in sides for j in under[i]}
    if not named:
        return header, []
    contrary = [labels[i] for i in rivals] if rivals and len(done) != 1 else []
    return [named.get(i, cell) for i, cell in enumerate(header)], contrary


def _amount(cell: str, known: Mapping[str, str]) -> str | None:
    heading = read_heading(0, cell, known)
    return heading.field if heading and heading.field in (*AMOUNTS, "sets", "work") else None


def _same(amounts: Mapping[int, str], one: Sequence[int], other: Sequence[int]) -> bool:
    return bool({amounts[i] for i in one} & {amounts[i] for i in other} & {"load", "reps", "work"})


def _tells_apart(label: str) -> bool:
    """Whether a label names a day, an athlete or the like; ``Set 1``, ``2`` and ``Round 2`` number sets."""
    words = normal(label)
    if _is_day(label):
        return True
    numbered = any(c.isdigit() for c in words) or set(words.split()) & set(SET_WORDS.split("|"))
    return not numbered and not names_sets(label) and words not in SIDES


def _is_day(label: str) -> bool:
    words = normal(label)
    if _DAY.fullmatch(words) or (words and words.split()[0] in _WEEKDAYS):
        return True
    return not label.isdigit() and read_moment(label).problem is None
