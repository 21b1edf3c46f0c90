"""Head: the lines of an export up to its header, and what they say of the columns."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from analytics.errors import BadExport
from analytics.intake.cells.loads import parse_unit
from analytics.intake.header.groups import names_sets, without_others
from analytics.intake.header.heading import Heading, normal
from analytics.intake.header.headline import read_headings, repeated_headings, rival_headings
from analytics.intake.header.numbering import SET_WORDS
from analytics.intake.header.scheme import with_scheme
from analytics.intake.header.sides import SIDES
from analytics.intake.header.titles import continued, read_legend, said_order, said_unit, with_legend
from analytics.intake.header.unnamed import with_unnamed

_SIDED_SET = re.compile(rf"(?:{SET_WORDS})\s?(\d{{1,2}})\s(\S+)")
_APART = "Write a row for each day and athlete, and Planned above what was not done"
_BODY = re.compile(r"body|\bbw\b|korper|corp")
_CURE = "Name the columns in its first line, or list its headers in roster.toml under [columns]"


@dataclass(frozen=True, kw_only=True)
class Head:
    """Where the rows begin (`rows_at`, 0-based), the `headings`, units by field, and remarks for the ledger.

    `last` is the last column that has a name, known or not; `rivals` are the columns whose field another one
    has; `unused` are the names that are not known, by column; `line` is the record of the header, from 1;
    `legend` are the abbreviations that the file explains, with their word; `below` the cells of a second line
    of the header, by column.
    """

    rows_at: int
    headings: tuple[Heading, ...]
    units: Mapping[str, str]
    last: int
    remarks: tuple[str, ...]
    rivals: tuple[Heading, ...] = ()
    unused: Mapping[int, str] = field(default_factory=dict)
    line: int = 1
    legend: Mapping[str, str] = field(default_factory=dict)
    below: Mapping[int, str] = field(default_factory=dict)

    @property
    def names(self) -> dict[str, str]:
        """Normal name to field of the columns that say day, lift or role, by their names or their cells."""
        return {normal(h.text): h.field for h in self.headings if h.field in ("date", "exercise", "role")}


def read_head(lines: list[list[str | None]], known: Mapping[str, str], path: str) -> Head:
    """The head of a file from its first lines.  Raises BadExport where no line names the columns."""
    legend = read_legend(lines, known)
    known = with_legend(known, legend)
    at, headings = _header_row(lines, known, path)
    if double := _double_header(lines, at, known):
        at, headings = double
    header, contrary = (
        without_others(lines[at - 1], lines[at], known) if at and not double else (lines[at], [])
    )
    if header is not lines[at]:
        headings = with_scheme(header, lines[at + 1 :], read_headings(header, known))
    if contrary:
        found = f"a row holds loads and reps under {contrary[0][:30]!r} and under {contrary[1][:30]!r}"
        raise BadExport(path, at + 1, found, _APART)
    if not any(h.set_number for h in headings):
        headings = repeated_headings(header, known) or _by_side(headings)
    headings = _sets_by_side(header, headings)
    named = _first_of_repeated(headings)
    headings = with_unnamed(header, lines[at + 1 :], named, legend, (path, at + 1))
    told = [f"{h.text.strip()[:30]!r} tells the {h.field}" for h in headings if h not in named]
    second = lines[at + 1] if at + 1 < len(lines) else []
    two_lines = continued(header, second, headings, known)
    headings = _with_units(header, lines[at + 1 :], two_lines or headings)
    rivals = rival_headings(header, headings, known)
    taken = {h.column for h in (*headings, *rivals)}
    names = {i: cell.strip() for i, cell in enumerate(header) if cell and cell.strip()}
    unused = {i: cell[:30] for i, cell in names.items() if i not in taken}
    listed = ", ".join([*unused.values()][:5])
    remarks = [*told, *([f"columns not used: {listed}{' ...' if len(unused) > 5 else ''}"] if unused else [])]
    units = {h.field: h.unit for h in headings if h.unit}
    if "load" not in units and (said := said_unit(lines[:at])):
        units["load"] = said
        remarks.append(f"{said} by a line above the header")
    if order := said_order(lines[:at]):
        units["date"] = order
        remarks.append(f"dates {order} by a line above the header")
    return Head(
        rows_at=at + 1 + bool(two_lines),
        headings=tuple(headings),
        units=units,
        last=max([*taken, *names]),
        remarks=tuple(remarks),
        rivals=tuple(rivals),
        unused=unused,
        line=at + 1,
        legend=legend,
        below={i: cell.strip() for i, cell in enumerate(second) if two_lines and i in taken and cell},
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
        raise _no_header(lines, known, path)
    return best


def _no_header(lines: list[list[str | None]], known: Mapping[str, str], path: str) -> BadExport:
    """What is wrong with a file no line of which names the columns, by the line that comes nearest."""
    for at, record in enumerate(lines):
        headings = read_headings(record, known)
        taken = {h.column for h in headings}
        others = [cell.strip() for i, cell in enumerate(record) if cell and cell.strip() and i not in taken]
        if {"date", "exercise"} & {h.field for h in headings} and len(others) > 1:
            listed = ", ".join(repr(name[:30]) for name in others[:5])
            found = f"no column says the loads and reps; not known are {listed}"
            return BadExport(path, at + 1, found, _CURE)
    first = next((cell for record in lines for cell in record if cell and cell.strip()), "")
    found = f"no line names the columns of a training log (it begins {first.strip()[:40]!r})"
    return BadExport(path, 1, found, _CURE)


def _double_header(
    lines: list[list[str | None]], at: int, known: Mapping[str, str]
) -> tuple[int, list[Heading]] | None:
    """A header of two lines, ``Set 1`` over ``kg`` and ``reps``, as (its last line, headings)."""
    for upper, lower in ((at - 1, at), (at, at + 1)):
        if upper < 0 or lower >= len(lines) or sum(names_sets(c) for c in lines[upper]) < 2:
            continue
        label, joined = "", []
        for above, below in zip(lines[upper], [*lines[lower], *[None] * len(lines[upper])], strict=False):
            if above and above.strip():
                label = above.strip() if names_sets(above) else ""
            joined.append(f"{label} {below or ''}" if label else below or above)
        if _amounts(lines[lower][: _first_label(lines[upper])], known):
            # The labels stand over the middle of their columns, so the names below have to tell.
            width = len(lines[lower])
            names = [b or a for a, b in zip(lines[upper][:width], lines[lower], strict=True)]
            if headings := repeated_headings(names, known):
                return lower, headings
            continue
        headings = read_headings(joined, known)
        if len({h.set_number for h in headings} - {None}) >= 2:
            return lower, headings
    return None


def _first_label(line: list[str | None]) -> int:
    return next(i for i, cell in enumerate(line) if names_sets(cell))


def _amounts(cells: list[str | None], known: Mapping[str, str]) -> bool:
    """Whether some cells name a load or repetitions."""
    return any(h.field in ("load", "reps") for h in read_headings(cells, known))


def _by_side(headings: list[Heading]) -> list[Heading]:
    """``Left reps`` and ``Right reps`` as the first and second set of a row, ``Reps`` as a third."""
    place = {"left": 1, "right": 2, None: 3}
    sided = {h.field for h in headings if h.side}
    return [replace(h, set_number=place[h.side]) if h.field in sided else h for h in headings]


def _with_units(
    header: list[str | None], below: list[list[str | None]], headings: list[Heading]
) -> list[Heading]:
    """The headings with a column of kg and lb under a name nobody knows, such as ``Mass unit``."""
    if any(h.field == "unit" or h.set_number for h in headings):
        return headings
    taken = {h.column for h in headings}
    for column, cell in enumerate(header):
        if column in taken or not cell or not cell.strip() or _BODY.search(normal(cell)):
            continue
        found = [line[column] for line in below if len(line) > column and (line[column] or "").strip()]
        if found and all(parse_unit(unit) in ("kg", "lb") for unit in found):
            return [*headings, Heading(column, cell, "unit")]
    return headings


def _first_of_repeated(headings: list[Heading]) -> list[Heading]:
    """``Kg, Reps, Kg.1, Reps.1``: what stands without a number is of the first set."""
    bare = {h.field: normal(h.text) for h in headings if h.set_number is None}
    numbered = [h for h in headings if h.set_number is not None]
    first = min((h.set_number or 0 for h in numbered), default=0)
    stems = {(h.field, re.sub(r"\s?\d+$", "", normal(h.text))) for h in numbered}
    again = {field for field in ("load", "reps", "rir", "rpe") if (field, bare.get(field)) in stems}
    if "reps" not in again or first not in (1, 2):
        return headings
    return [
        replace(
            h, set_number=h.set_number + (first == 1) if h.set_number else 1 if h.field in again else None
        )
        for h in headings
    ]


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


def _tells_sets(names: set[str]) -> bool:
    done = names & {"load", "added", "reps", "seconds", "work"}
    return bool(done) and len(names) >= 2
