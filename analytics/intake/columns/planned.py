"""Planned: cells that only say that what stands in the column of the plan was done."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.shorthand import reads_as_sets
from analytics.intake.cells.vocabulary import column_names, meanings
from analytics.intake.cells.words import parse_answer
from analytics.intake.columns.parts import combined
from analytics.intake.header.heading import Heading, bare_name, unit_of
from analytics.intake.lookup import Texts
from analytics.intake.source.records import Records

_PLAN = re.compile(
    r"\b(?:plan\w*|targets?|goals?|prescri\w+|geplant\w*|soll|ziel\w*|vorgaben?|objeti\w+|objecti\w+|obiettiv\w+|metas?"
    r"|doel\w*|program\w*|prevus?|prevues?|previst\w+|gepland\w*|scheda)\b"
)
_AS_PLANNED = frozenset(meanings("as_planned"))
_ALL = re.compile(r"^(?:all|alles?|todo|tout|tutto|tudo|done|exactly)\s+(?:done )?(?=\S{3})|[.!]+$")
_AMOUNTS = ("load", "reps", "sets", "work")


def take_plans(
    cells: Records, unused: Mapping[int, str], headings: Sequence[Heading], columns: dict[int, Texts]
) -> tuple[str, ...]:
    """Put the plan of their row into cells of ``as planned``, or of a tick; tells where, for the ledger.

    `unused`: the names of the columns without a meaning.  Only where one column of the table says the plan of
    that amount; a plan that leaves the reps open, ``3x8-10``, leaves the row to be set aside.
    """
    named = dict(unused) | {h.column: h.text for h in headings if h.field == "session"}
    plans = {i: name for i, name in named.items() if _PLAN.search(bare_name(name))}
    remarks = []
    for h in headings if plans else ():
        if h.field not in _AMOUNTS or h.set_number is not None:
            continue
        done = columns[h.column]
        said = {text for text in done.written if _says_as_planned(text)}
        found = [i for i, name in plans.items() if said and _plans(h.field, name, cells, i)]
        if len(found) != 1:
            continue
        plan = cells.texts(found[0])
        columns[h.column] = combined([done, plan], lambda d, p, said=said: p if d in said and p else d)
        remarks.append(f"{min(said)!r} takes what {plans[found[0]].strip()[:30]!r} says")
    return tuple(remarks)


def _plans(field: str, name: str, cells: Records, column: int) -> bool:
    """Whether a column says the plan of a field: by the rest of its name, or where it holds shorthand."""
    rest = " ".join(_PLAN.sub(" ", bare_name(name)).split())
    if field != "work":
        return rest in column_names("sets")[field] or (
            not rest and field == "load" and unit_of(name) is not None
        )
    texts = cells.texts(column).written
    return any(reads_as_sets(text) for text in texts)


def _says_as_planned(text: str) -> bool:
    words = _ALL.sub("", plain(tidy(text)))
    if words in _AS_PLANNED:
        return True
    return (len(words) > 1 or words in "✓✔✅☑") and parse_answer(words) is True
