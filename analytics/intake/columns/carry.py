"""Carry: cells written once for a group of rows count for the rows below."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from analytics.intake.header.heading import Heading
from analytics.intake.lookup import Texts

CARRIED = ("date", "athlete", "exercise", "session")
_SHARE = 0.3


def carry_down(
    columns: dict[int, Texts], headings: Sequence[Heading], keep: pl.Series, bare: pl.Series
) -> tuple[str, ...]:
    """Fill the cells below into `columns`; what was carried is told as remarks for the ledger.

    `keep`: rows that may hold sets; `bare`: rows where nothing was done, such as a day or a lift alone in
    its line, or a set that was not ticked off.  Only where the first row of `keep` has the cell then, and at
    least two rows and 30 % of them lack it; a rare gap stays a gap.  A day alone in its line ends what was
    carried before of other columns.
    """
    if not keep.any():
        return ()
    remarks = []
    named = {h.field: columns[h.column].ids > 0 for h in headings if h.field in CARRIED}
    new_day = bare & named["date"] if "date" in named else bare & ~bare
    for heading in headings:
        if heading.field not in named:
            continue
        there = named[heading.field]
        lacking = keep & ~there
        if lacking.sum() < 2 or int(lacking.sum()) < _SHARE * int(keep.sum()):
            continue
        ids = columns[heading.column].ids
        frame = pl.DataFrame({"i": ids, "said": there & (keep | bare), "ends": new_day & ~there})
        carried = frame.select(
            pl.when("said").then("i").when("ends").then(pl.lit(0, ids.dtype)).forward_fill().fill_null(0)
        ).to_series()
        if carried.filter(keep)[0] == 0:
            continue
        columns[heading.column] = Texts(carried, columns[heading.column].texts)
        remarks.append(f"{heading.text.strip()!r} carried down to the rows below")
        if heading.field == "exercise":
            begins = there | named["date"] if "date" in named else there
            remarks += _merged_loads(columns, headings, keep & ~there, begins)
    return tuple(remarks)


def _merged_loads(
    columns: dict[int, Texts], headings: Sequence[Heading], below: pl.Series, begins: pl.Series
) -> list[str]:
    """Fill loads that were merged with those above: the cells of load and of lift are both empty.

    `below`: rows that may hold sets and name no lift; `begins`: rows that name a lift or a day.
    """
    loads = [h for h in headings if h.field in ("load", "added", "work") and h.set_number is None]
    if len(loads) != 1 or loads[0].field != "load":
        return []
    ids = columns[loads[0].column].ids
    lacking = below & (ids == 0)
    if lacking.sum() < 2 or int(lacking.sum()) < _SHARE * len(below):
        return []
    frame = pl.DataFrame({"i": ids.replace(0, None), "block": begins.cum_sum(), "lacking": lacking})
    above = pl.col("i").forward_fill().over("block")
    filled = frame.select(pl.when("lacking").then(above).otherwise("i").fill_null(0)).to_series()
    if (filled == ids).all():
        return []
    columns[loads[0].column] = Texts(filled, columns[loads[0].column].texts)
    return [f"{loads[0].text.strip()!r} carried down where the lift is"]


def carry_in_blocks(rows: Sequence[dict[str, object]], blocks: Sequence[int]) -> tuple[str, ...]:
    """As `carry_down` for rows under heading lines, none beyond its block, whose number `blocks` says."""
    remarks: list[str] = []
    for name in CARRIED:
        lacking = [not str(row.get(name) or "").strip() for row in rows]
        if sum(lacking) < 2 or sum(lacking) < _SHARE * len(rows) or all(lacking):
            continue
        above: object = None
        for i, row in enumerate(rows):
            if i and blocks[i] != blocks[i - 1]:
                above = None
            if not lacking[i]:
                above = row[name]
            elif above:
                row[name] = above
        remarks.append(f"the {name} carried down to the rows below")
    return tuple(remarks)
