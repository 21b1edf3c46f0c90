"""Unnamed: what a header does not name, told by the cells below: date, exercise, role, effort, a note."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from functools import partial

from analytics.catalogue import catalogue_of
from analytics.errors import BadExport
from analytics.intake.cells.dates import read_moment
from analytics.intake.cells.effort import noted_rir
from analytics.intake.cells.loads import parse_load
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.remark import is_remark
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.cells.words import is_failure, parse_role, role_of_note
from analytics.intake.header.heading import Heading, normal
from analytics.intake.header.scheme import LOOKED_AT, NOT_DONE, may_be_load
from analytics.intake.header.total import BARS, PLATES

_DAYS, _LIFTS, _LOADS, _ROLES, _RATED, _NOTED = 0.9, 0.5, 1.0, 1.0, 1.0, 1e-9
"""The least share of the texts that are days, lifts, loads, roles, efforts, or name such a mark; common
practice, no source."""
_TELLING_ROLES = {"warm_up", "drop", "rest_pause", "back_off"}
_OTHER_WORDS = ("back", "pause", "hard")
_OTHER_DAY = re.compile(
    rf"{NOT_DONE.pattern}|birth|born|\bdob\b|geb(?:oren|urt)|nac(?:id|im)|naiss|nasc|week|woche|semana|semaine"
    r"|settimana|month|mon[ae]t|\bmes\b|mois|mese|maand|export|alternat|ersatz|instead|swap|body|korper|corp"
    r"|poids de|lichaam|1rm|volum|tonn"
)
"""Words in the name of a column of days, lifts or loads that say nothing of what was done."""
_SERIAL, _SHORT_YEAR = re.compile(r"\d+(?:[.,]\d+)?"), re.compile(r"\d{1,2}[/\-. ]+\d{1,2}[/\-. ]+\d{2}\b")
_MOVES = frozenset(meanings("counted_moves"))
_DONE, _PARTS = frozenset(meanings("done")), BARS | PLATES
_UP_TO_FIVE = re.compile(r"[0-5](?:[.,]5|-[1-5])?")
_TWO_NUMBERS = re.compile(r"\d\D+\d|\d{3}")
_FIRST_SHORT_YEAR = 2020
_AMOUNTS = ("load", "added", "reps", "seconds", "work")
_CURE = "Name the one of the training Date, or list its header in roster.toml under [columns]"

Cells = Sequence[str | None]


def with_unnamed(
    header: Cells,
    below: Sequence[Cells],
    headings: list[Heading],
    legend: Mapping[str, str],
    where: tuple[str, int],
) -> list[Heading]:
    """The headings of a table, with the one column of dates, lifts, loads, roles, where none is named.

    A column of numbers up to 5 and words for failure is what was left in reserve; one in which some cell is
    in full a role or an effort, as in remarks, is the note.
    ``Time`` may hold the date, ``Training`` the lift; a name that is known wins if its cells agree at all.
    Of a begin and an end on the same or the next day the earlier is the date.  Nothing is added where lines
    of their own tell the day or the lift.  `legend`: abbreviations that the file explains.  Raises BadExport
    where two columns tell different days; `where`: the file and the header's line.
    """
    named, taken = {h.field: h for h in headings}, {h.column for h in headings}
    day = named.get("date")
    dated = day is not None and ({"month", "year"} & named.keys() or _numbered(_texts(below, day.column)))
    if (
        dated
        and "exercise" in named
        and not any(n and n.strip() for i, n in enumerate(header) if i not in taken)
    ):
        return headings
    rows = [r for r in below[:LOOKED_AT] if _is_set(r, headings) and not is_remark(_first(r))]
    if not dated:
        found = _columns(header, rows, headings, ("time", "session", "work", "ticked"), (_is_day, _DAYS))
        if found and not _stands_alone(below, _is_day):
            others = [h for h in headings if h is not day]
            headings = _with(others, header, _earliest(header, found, rows, where), "date")
    if "exercise" not in named:
        found = _columns(header, rows, headings, ("session", "equipment"), (_is_lift, _LIFTS))
        if len(found) == 1 and not _stands_alone(below, _is_lift):
            headings = _with(headings, header, found[0], "exercise")
    if not {"reps", "seconds", "work"} & named.keys():
        found = _columns(header, rows, headings, (), (str.isdigit, 1.0))
        found = [i for i in found if normal(str(header[i])) in _MOVES]
        if len(found) == 1:
            headings = _with(headings, header, found[0], "reps")
    if not {"load", "added", "work"} & named.keys() and "reps" in named:
        found = _columns(header, rows, headings, (), (_is_load, _LOADS))
        names = {column: str(header[column]) for column in found}
        found = [
            i for i, name in names.items() if may_be_load(name) and not _PARTS & set(normal(name).split())
        ]
        if len(found) == 1 and len(set(_texts(rows, found[0]))) > 1:
            headings = _with(headings, header, found[0], "load")
    one_set = all(h.set_number is None for h in headings)
    if not {"role", "warm_up"} & named.keys() and one_set:
        roles = partial(_role, legend=legend)
        found = _columns(header, rows, headings, (), (lambda text: roles(text) is not None, _ROLES))
        if len(found) == 1 and _TELLING_ROLES & set(map(roles, _texts(rows, found[0]))):
            headings = _with(headings, header, found[0], "role")
    if not {"rir", "rpe"} & named.keys() and one_set:
        found = _columns(header, rows, headings, (), (_is_reserve, _RATED))
        found = [i for i in found if len(set(map(_is_number, _texts(rows, i)))) == 2]
        if len(found) == 1:
            headings = _with(headings, header, found[0], "rir")
    if "note" not in named:
        found = _columns(header, rows, headings, (), (_names_mark, _NOTED))
        if len(found) == 1:
            headings = _with(headings, header, found[0], "note")
    return headings


def _columns(
    header: Cells,
    rows: Sequence[Cells],
    headings: Sequence[Heading],
    fields: tuple[str, ...],
    asked: tuple[Callable[[str], bool], float],
) -> list[int]:
    """The columns of an unknown name, or of one of `fields`, of whose texts the test in `asked` accepts the
    share beside it."""
    tells, share = asked
    taken = {h.column for h in headings if h.field not in fields or h.set_number}
    found = []
    for column, name in enumerate(header):
        if column in taken or not name or not name.strip() or _OTHER_DAY.search(plain(tidy(name))):
            continue
        texts = set(_texts(rows, column)) - {name.strip()}
        if texts and sum(map(tells, texts)) >= share * len(texts):
            found.append(column)
    return found


def _earliest(header: Cells, found: list[int], rows: Sequence[Cells], where: tuple[str, int]) -> int:
    """The column named as done, else that of the earliest days, if others say the same or the next day."""
    days = {column: [_day(record[column]) for record in rows if len(record) > column] for column in found}
    done = [column for column in found if _DONE & set(normal(str(header[column])).split())]
    if len(done) == 1:
        return done[0]
    varied = [column for column in found if len(set(days[column]) - {None}) > 1] or found
    for one in varied:
        gaps = [b - a for other in varied for a, b in zip(days[one], days[other], strict=False) if a and b]
        if all(0 <= gap <= 1 for gap in gaps):
            return one
    names = " and ".join(repr(str(header[column]).strip()[:30]) for column in varied[:2])
    raise BadExport(*where, f"no column is named as the date, and {names} tell different days", _CURE)


def _day(text: str | None) -> int | None:
    moment = read_moment(text)
    day = moment.day(next(iter(moment.by_order), None))
    return day.toordinal() if day else None


def _with(headings: Sequence[Heading], header: Cells, column: int, field: str) -> list[Heading]:
    kept = [h for h in headings if h.column != column]
    return sorted([*kept, Heading(column, str(header[column]), field)], key=lambda h: h.column)


def _is_set(record: Cells, headings: Sequence[Heading]) -> bool:
    amounts = [h.column for h in headings if h.field in _AMOUNTS]
    return any(column < len(record) and (record[column] or "").strip() for column in amounts)


def _stands_alone(below: Sequence[Cells], tells: Callable[[str], bool]) -> bool:
    """Whether some line of one cell holds a day, or a lift."""
    lines = ([cell for cell in record if cell and cell.strip()] for record in below)
    return any(len(filled) == 1 and tells(filled[0]) for filled in lines)


def _first(record: Cells) -> str:
    return next((cell for cell in record if cell and cell.strip()), "")


def _texts(rows: Sequence[Cells], column: int) -> list[str]:
    return [
        cell.strip() for record in rows if column < len(record) and (cell := record[column]) and cell.strip()
    ]


def _numbered(texts: Sequence[str]) -> bool:
    """Whether some text of a column of days is more than a weekday or a number, ``Monday``, ``Day 1``."""
    return any(_TWO_NUMBERS.search(text) for text in texts)


def _is_day(text: str) -> bool:
    """Whether a text is a day with its year, and nothing that may as well be a number or a list of reps."""
    moment, words = read_moment(text), tidy(text)
    if moment.problem or (_SERIAL.fullmatch(words) and not (words.isdigit() and len(words) == 8)):
        return False
    days = [day for day in (moment.fixed, *moment.by_order.values()) if day]
    return not _SHORT_YEAR.match(words) or any(day.year >= _FIRST_SHORT_YEAR for day in days)


def _is_load(text: str) -> bool:
    """Whether a text is a load with its unit."""
    return any(parse_load(text, decimal).unit is not None for decimal in ("point", "comma"))


def _is_reserve(text: str) -> bool:
    """Whether a text is a number up to 5, or says failure."""
    return _is_number(text) or (len(text) > 2 and is_failure(tidy(text)))


def _is_number(text: str) -> bool:
    return _UP_TO_FIVE.fullmatch(text) is not None


def _names_mark(text: str) -> bool:
    """Whether a text is in full a role, or names an effort, as the remark on a set may."""
    return role_of_note(text) is not None or noted_rir(text, "point", alone=True) is not None


def _role(text: str, legend: Mapping[str, str]) -> str | None:
    """The role of a word, or of a letter that the file explains."""
    word = legend.get(normal(text), text if len(text) > 2 and tidy(text) not in _OTHER_WORDS else "")
    return parse_role(word)[0]


def _is_lift(text: str) -> bool:
    return any(c.isalpha() for c in text) and catalogue_of(None).matcher.match(text).how != "unknown"
