"""Diary: dated lines of plain shorthand without any header, as typed on a phone, to text fields."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from analytics.intake.cells.afterword import wished_for
from analytics.intake.cells.dates import read_moment
from analytics.intake.cells.dayline import (
    names_other_day,
    opening_day,
    read_day_line,
    read_short_day,
    reps_like_a_day,
    split_day,
    tells_how_it_went,
)
from analytics.intake.cells.loads import parse_load
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.remark import sums_up
from analytics.intake.cells.shorthand import reads_as_sets
from analytics.intake.cells.vocabulary import column_names
from analytics.intake.sheet.entry import (
    COUNTED,
    LABELLED,
    LOADED,
    PAIRED,
    looks_like_sets,
    named,
    says_no_set,
)

_LABEL = re.compile(r"(?:date|datum|fecha|data)\s*[:=]\s*", re.IGNORECASE)
_BULLET = re.compile(r"^(?:[-*•·–]|\d{1,2}[.)]|[a-h]\))\s+(?=[^\W\d_])", re.IGNORECASE)
_BOX = re.compile(r"(?:[-*•·–]\s+)?\[([ xX✓✔]?)\]\s*")
_DASH = re.compile(r"[-*•·–]\s+")
_SUPERSET = re.compile(r"(?:super|bi|tri)[ -]?(?:sets?|satz|series?)\s*\w?\s*:?", re.IGNORECASE)
_LIFTS = frozenset(column_names("sets")["exercise"])
_OPEN = "?"
_SETS, _BLANKS, _MARKS = re.compile(r"\d\s?[x/]\s?\d|\d,\s?\d+,\s?\d"), " ;,|\t", "# ;,|\t"
_EMPHASIS = re.compile(r"\*\*|__")


@dataclass
class _State:
    """What the lines above said.  `lift`: the exercise of lines that begin with their day, named above them,
    unless days have a line to themselves (`by_day`); `dated`: such lines were read.  `grouped`: a superset
    goes on.
    """

    day: str | None = None
    session: str | None = None
    exercise: str | None = None
    lift: str | None = None
    by_day: bool = False
    dated: bool = False
    supersets: int = 0
    grouped: bool = False

    def begin(self, day: str, session: str | None = None) -> None:
        self.day, self.session, self.exercise, self.lift = day, session, None, None
        self.by_day, self.supersets, self.grouped = True, 0, False


def read_diary(lines: Sequence[tuple[int, str]], is_remark: Callable[[str], bool]) -> list[dict[str, object]]:
    """One dictionary of `row, date, session, exercise, work, superset` per line of sets; empty if no diary.

    A line that tells a date opens a day, even if a set follows in it; a line of words names the exercise;
    a line of sets such as ``100 x 5`` or ``Squat: 3x5 @ 100 kg`` counts.  A line that looks like sets but
    cannot be read is told later, and one that says how it went is a remark.  In a diary kept by exercise,
    whose lines of sets begin with the day, the line of words above them names the lift of all.  Where a day
    stands behind ``#``, so do headings; elsewhere it opens a comment.
    """
    state = _State()
    rows: list[dict[str, object]] = []
    read = weak = 0
    apart = True
    done = False
    parted = any(not text.strip(_BLANKS) for _, text in lines)
    marked = any(text.startswith("#") and _day(text.strip(_BLANKS).lstrip(_MARKS)) for _, text in lines)
    for line, whole in _parted(lines):
        text = _EMPHASIS.sub("", whole).strip(_BLANKS)
        text = text.lstrip(_MARKS) if marked else text
        box = _BOX.match(text)
        if box and not box[1].strip():
            continue  # what was to be done
        bullet = box or _BULLET.match(text) or (_DASH.match(text) if marked else None)
        text = text[bullet.end() :] if bullet else text
        begins, apart = apart, not text
        if not text or is_remark(text):
            continue
        if (labelled := LABELLED.fullmatch(text)) and plain(labelled[1]) in _LIFTS:
            text = labelled[2]
        state.grouped = state.grouped and bool(bullet)
        work: str | None
        if told := _of_lift(text, state):
            (state.day, work), state.dated = told, True
            read += reads_as_sets(work)
            rows.append(_row(line, state, state.lift if state.lift != _OPEN else None, work))
            continue
        if not reps_like_a_day(text, state.day):
            if (day := _day(_LABEL.sub("", text))) is not None:
                state.begin(*day)
                continue
            if (opened := split_day(text)) and named(opened[1])[1]:
                state.begin(opened[0])
                text = opened[1]
        wish = wished_for(text)
        if wish or tells_how_it_went(text) or says_no_set(text):
            if wish == "later" and named(text)[1] is None and len(text) <= 40:
                state.begin(text)  # what stands below is no set of the day above
            continue
        begins_day = begins or any(c.isalpha() for c in text) or (done and _is_short(state.day))
        if begins_day and names_other_day(text, state.day):
            state.begin(text)
            continue
        done = False
        if not reps_like_a_day(text, state.day) and (begun := opening_day(text)):
            state.begin(begun[0])
            rows.append(_row(line, state, None, begun[1] or text))
            continue
        if _SUPERSET.fullmatch(text):
            state.supersets, state.grouped = state.supersets + 1, True
            continue
        name, work = named(text)
        if work is None and PAIRED.search(tidy(text)):
            rows.append(_row(line, state, text[:60], text))
        if work is None and len(text) <= 60:
            state.exercise = text
            if not state.by_day:
                state.lift = _lift_or_remark(text, state.lift, sure=begins or not (parted and state.dated))
                state.dated = False
        elif work is not None:
            state.exercise, state.lift = name or state.exercise, None
            if COUNTED.fullmatch(tidy(work)):
                weak += 1  # bare numbers tell neither way whether it is a diary
            else:
                done = reads_as_sets(work)
                read += done
            rows.append(_row(line, state, state.exercise, work))
    sure = read and read >= 0.5 * (len(rows) - weak)
    names = {plain(tidy(str(row["exercise"]))) for row in rows}
    rows = [row for row in rows if not sums_up(str(row["exercise"]), names)]
    return rows if sure and any(row["date"] and row["exercise"] for row in rows) else []


def _is_short(day: str | None) -> bool:
    """Whether the day above is ``3/2``, so that the next line of this kind is another one and no reps."""
    return bool(day and not any(c.isalpha() for c in day) and read_short_day(day))


def _lift_or_remark(text: str, above: str | None, *, sure: bool) -> str:
    """The lift that the lines below are of: a line of words under sets may be a remark.

    Names in capitals tell themselves from remarks; else the lift is open and its sets are set aside.
    """
    if sure or not above or above == _OPEN:
        return text if sure or not above else _OPEN
    if above.isupper():
        return text if text.isupper() else above
    return _OPEN


def _parted(lines: Sequence[tuple[int, str]]) -> Iterator[tuple[int, str]]:
    """The lines, one for each exercise where a cell names several, ``Squat 4x6 100kg; Row 3x10 60kg``."""
    for line, text in lines:
        for whole in text.split("\n"):
            parts = whole.split("; ")
            begun = split_day(parts[0])
            firsts = [begun[1] if begun else parts[0], *parts[1:]]
            if len(parts) > 1 and all(all(named(part.strip(_BLANKS + "."))) for part in firsts):
                yield from ((line, part) for part in parts)
            else:
                yield line, whole


def joined(record: Sequence[str | None], sign: str) -> str:
    """One line of a text that its delimiter parted; a load behind sets, ``4x8;60 kg``, is theirs."""
    cells = [cell or "" for cell in record]
    filled = [cell for cell in cells if cell.strip()]
    if len(filled) == 3 and not any(c.isdigit() for c in filled[0]) and reads_as_sets(filled[1]):
        load = parse_load(filled[2], "comma" if sign == ";" else "point")
        if (
            load.value is not None
            and not load.problem
            and _SETS.search(tidy(filled[1]))
            and not LOADED.search(tidy(filled[1]))
        ):
            return f"{filled[0]}{sign}{filled[1]} @ {filled[2].strip()}"
    return sign.join(cells)


def _row(line: int, state: _State, exercise: str | None, work: str) -> dict[str, object]:
    group = chr(ord("A") + (state.supersets - 1) % 26) if state.grouped else None
    return {
        "row": line,
        "date": state.day,
        "session": state.session,
        "exercise": exercise,
        "work": work,
        "superset": group,
    }


def _of_lift(text: str, state: _State) -> tuple[str, str] | None:
    """(day, sets) of a line in a diary kept by exercise: ``02/03/2026: 3x8 @ 60 kg`` under the lift."""
    begun = opening_day(text, whole=False) if state.lift else None
    sets = begun is not None and (looks_like_sets(begun[1]) or begun[1].isdigit())
    return begun if sets and not reps_like_a_day(text, state.day) else None


def _day(text: str) -> tuple[str, str | None] | None:
    """(day, other words) of a line that opens a day."""
    if read_moment(text).problem is None:
        return None if re.fullmatch(r"\d{1,5}", text) else (text, None)
    return read_day_line(text)
