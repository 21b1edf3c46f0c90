"""Head: the lines of an export up to its header, and what they say of the columns."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from analytics.errors import BadExport
from analytics.intake.header import SIDES, Heading, normal, read_headings, repeated_headings
from analytics.intake.loads import parse_unit
from analytics.intake.numbering import SET_WORDS
from analytics.intake.numbers import tidy
from analytics.intake.plain import plain
from analytics.intake.scheme import with_scheme

_SET_LABEL = re.compile(r"(?:set|satz|serie|series|s)\s?\d{1,2}|\d{1,2}(?:st|nd|rd|th)?\s?(?:set|satz|serie)")
_SIDED_SET = re.compile(rf"(?:{SET_WORDS})\s?(\d{{1,2}})\s(\S+)")
_UNIT_LINE = re.compile(
    r"(?:all )?(?:units?|weights?|loads?|einheit(?:en)?|gewichte?|pesos?|poids|cargas?|charges?"
    r"|unidad(?:es)?|unites?|eenheid)\s*(?:in|en|are|is|:|=)+\s*(\S+)"
)
_CURE = "Name the columns in its first line, or list its headers in roster.toml under [columns]"


@dataclass(frozen=True, kw_only=True)
class Head:
    """Where the rows begin (`rows_at`, 0-based), the `headings`, units by field, and remarks for the ledger.

    `last` is the last column that has a name, known or not; `unused` are the names that are not known, by
    column; `line` is the record of the header, from 1.
    """

    rows_at: int
    headings: tuple[Heading, ...]
    units: Mapping[str, str]
    last: int
    remarks: tuple[str, ...]
    unused: Mapping[int, str] = field(default_factory=dict)
    line: int = 1


def read_head(lines: list[list[str | None]], known: Mapping[str, str], path: str) -> Head:
    """The head of a file from its first lines.  Raises BadExport where no line names the columns."""
    at, headings = _header_row(lines, known, path)
    if double := _double_header(lines, at, known):
        at, headings = double
    if not any(h.set_number for h in headings):
        headings = repeated_headings(lines[at], known) or _by_side(headings)
    headings = _sets_by_side(lines[at], headings)
    taken = {h.column for h in headings}
    named = {i: cell.strip() for i, cell in enumerate(lines[at]) if cell and cell.strip()}
    unused = {i: cell[:30] for i, cell in named.items() if i not in taken}
    listed = ", ".join([*unused.values()][:5])
    remarks = [f"columns not used: {listed}{' ...' if len(unused) > 5 else ''}"] if unused else []
    below = _unit_row(lines[at + 1], headings) if at + 1 < len(lines) else {}
    units = below | {h.field: h.unit for h in headings if h.unit}
    if "load" not in units and (said := _said_unit(lines[:at])):
        units["load"] = said
        remarks.append(f"{said} by a line above the header")
    return Head(
        rows_at=at + 1 + bool(below),
        headings=tuple(headings),
        units=units,
        last=max([*taken, *named]),
        remarks=tuple(remarks),
        unused=unused,
        line=at + 1,
    )


def _header_row(
    lines: list[list[str | None]], known: Mapping[str, str], path: str
) -> tuple[int, list[Heading]]:
    best: tuple[int, list[Heading]] = (-1, [])
    for at, record in enumerate(lines):
        headings = read_headings(record, known)
        if headings:
            headings = with_scheme(record, lines[at + 1 :], headings)
        names = {h.field for h in headings}
        if len(names) > len({h.field for h in best[1]}) and _tells_sets(names):
            best = (at, headings)
            if len(names) >= 4:
                break
    if best[0] < 0:
        first = next((cell for record in lines for cell in record if cell and cell.strip()), "")
        raise BadExport(
            path, 1, f"no line names the columns of a training log (it begins {first.strip()[:40]!r})", _CURE
        )
    return best


def _double_header(
    lines: list[list[str | None]], at: int, known: Mapping[str, str]
) -> tuple[int, list[Heading]] | None:
    """A header of two lines, ``Set 1`` over ``kg`` and ``reps``, as (its last line, headings)."""
    for upper, lower in ((at - 1, at), (at, at + 1)):
        if (
            upper < 0
            or lower >= len(lines)
            or sum(bool(_SET_LABEL.fullmatch(plain(tidy(c)))) for c in lines[upper]) < 2
        ):
            continue
        label, joined = "", []
        for above, below in zip(lines[upper], [*lines[lower], *[None] * len(lines[upper])], strict=False):
            if above and above.strip():
                label = above.strip() if _SET_LABEL.fullmatch(plain(tidy(above))) else ""
            joined.append(f"{label} {below or ''}" if label else below or above)
        headings = read_headings(joined, known)
        if len({h.set_number for h in headings} - {None}) >= 2:
            return lower, headings
    return None


def _by_side(headings: list[Heading]) -> list[Heading]:
    """``Left reps`` and ``Right reps`` as the first and the second set of a row."""
    place = {"left": 1, "right": 2}
    return [replace(h, set_number=place[h.side]) if h.side else h for h in headings]


def _sets_by_side(line: list[str | None], headings: list[Heading]) -> list[Heading]:
    """``Set 1 L`` and ``Set 1 R`` as repetitions of the sets 1 and 2; what else is of set 1 is of both."""
    sided: list[Heading] = []
    for column, cell in enumerate(line):
        found = _SIDED_SET.fullmatch(normal(cell or ""))
        if found and cell and (side := SIDES.get(found[2])):
            number = 2 * int(found[1]) - (side == "left")
            sided.append(Heading(column, cell, "reps", side=side, set_number=number))
    if len({h.side for h in sided}) < 2:
        return headings
    taken = {h.column for h in sided}
    others = [
        h for h in headings if h.column not in taken and (h.field, h.set_number is None) != ("reps", False)
    ]
    both = [
        replace(h, set_number=2 * h.set_number - first) if h.set_number else h
        for h in others
        for first in ((1, 0) if h.set_number else (0,))
    ]
    return sorted([*both, *sided], key=lambda h: (h.column, h.set_number or 0))


def _unit_row(record: list[str | None], headings: list[Heading]) -> dict[str, str]:
    """Units by field, if the line below the header holds units and no number."""
    text = [cell or "" for cell in record]
    if any(any(c.isdigit() for c in cell) for cell in text):
        return {}
    found = {
        h.field: unit
        for h in headings
        if h.field in ("load", "added")
        and h.column < len(text)
        and (unit := parse_unit(text[h.column])) in ("kg", "lb")
    }
    return found


def _said_unit(titles: list[list[str | None]]) -> str | None:
    """The unit that a line above the header declares, such as ``Weights in lb``."""
    for record in titles:
        text = " ".join(cell for cell in record if cell)
        found = _UNIT_LINE.fullmatch(plain(tidy(text[:80])))
        if found and (unit := parse_unit(found[1])) in ("kg", "lb"):
            return unit
    return None


def _tells_sets(names: set[str]) -> bool:
    done = names & {"load", "added", "reps", "seconds", "work"}
    return bool(done) and len(names) >= 2
