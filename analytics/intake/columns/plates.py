"""Plates: a column of what hangs on the bar, which is a part of the load and never passes for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import polars as pl

from analytics.intake.cells.loads import EMPTY_WORDS
from analytics.intake.cells.numbers import any_number, tidy
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.columns.rivals import filled
from analytics.intake.header.heading import Heading, bare_name, normal
from analytics.intake.header.total import PLATES
from analytics.intake.lookup import Texts
from analytics.intake.source.records import Records

_STACK, _SHARE = frozenset(meanings("stack_column")), meanings("share")


def tell_plates(
    cells: Records, unused: Mapping[int, str], headings: Sequence[Heading], columns: dict[int, Texts]
) -> None:
    """Where the load is empty and plates are written, put these there, and why they are no load.

    So are the number of a plate of a stack, ``Pin``, and the share of a maximum, ``% 1RM``, in their columns.
    """
    load = next((h.column for h in headings if h.field == "load" and h.set_number is None), None)
    part = next((i for i, name in unused.items() if PLATES & set(normal(name).split())), None)
    stack = next((i for i, name in unused.items() if numbers_stack(name)), None)
    share = next((i for i, name in unused.items() if _says_share(name)), None)
    for i, lacking in ((part, "the bar"), (stack, "what it weighs"), (share, "the load")):
        if load is None or i is None:
            continue
        plates = cells.texts(i)
        hung = plates.spread(_hangs, pl.Boolean(), False)
        if hung.any():
            plates = Texts(plates.ids.zip_with(hung, plates.ids * 0), plates.texts)
            columns[load] = filled(columns[load], plates, f" ({unused[i].strip()}), without {lacking}")


def numbers_stack(name: str) -> bool:
    """Whether a name is that of a column that numbers the plates of a stack, or where its pin stands."""
    return bare_name(name) in _STACK


def cure_of(name: str) -> str | None:
    """What to do about a file whose loads are told by such a column alone, or by shares of a maximum."""
    if numbers_stack(name):
        return "Write what the plates of the stack weigh, such as 35 kg, into a column such as Weight (kg)"
    return "Add a column with what was lifted, such as Weight (kg)" if _says_share(name) else None


def _says_share(name: str) -> bool:
    kinds = {_SHARE.get(word) for word in normal(name.replace("%", " % ")).split()}
    return kinds == {"sign"} or {"sign", "of"} <= kinds


def _hangs(text: str) -> bool:
    words = tidy(text)
    return words not in EMPTY_WORDS and any_number(words) != 0
