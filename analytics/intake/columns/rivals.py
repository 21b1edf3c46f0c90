"""Rivals: columns that claim one field, such as ``Day`` and ``Date``, or a planned and a moved load."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import polars as pl

from analytics.errors import BadExport
from analytics.intake.cells.dates import read_minutes, read_moment
from analytics.intake.cells.loads import SAME_LOAD
from analytics.intake.cells.numbers import any_number, tidy
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.columns.parts import combined
from analytics.intake.header.heading import Heading, bare_name, normal
from analytics.intake.header.total import BARS
from analytics.intake.lookup import Texts
from analytics.schema import KG_PER_LB

_READ_AS = {
    "sets": "counts sets",
    "superset": "labels supersets",
    "unused": "is not used",
    "ticked": "ticks sets off",
    "own_weight": "is the athlete's own weight",
    "length": "is how long the workout took",
}
_DONE = frozenset(meanings("done"))
_EXERCISE = ("exerci", "exercice", "ubung", "uebung", "ejercicio", "esercizi", "oefening")
"""Where ``Movement`` or ``Lift`` stands beside ``Exercise``, it may be the pattern or the family."""
_CURE = "Rename the one that was not done, such as Target or Bodyweight"

_LIGHTEST, _MOST_CHANGE = 35.0, 1.25
"""The bodyweight of an athlete through one log, in kg or lb; common practice, no source."""
ROUNDED_KG = 0.5
"""A load in kg and in lb may differ by so much, as 45 lb and 20 kg (common practice, no source)."""
Columns = dict[int, Texts]


def chosen(
    headings: Sequence[Heading], rivals: Iterable[Heading], columns: Columns, where: tuple[str, int]
) -> list[Heading]:
    """The headings, each with the column that says its field best; a column may be filled up from a rival.

    Raises BadExport where two columns say different loads or repetitions.  `where`: file, header's line.
    """
    result = [_own_weight(h, headings, columns) for h in headings]
    for rival in rivals:
        at = next((i for i, h in enumerate(result) if h.field == rival.field and h.set_number is None), None)
        if at is not None:
            both = [result[at], rival] if rival.field == "load" else []
            own = [h for h in both if _is_bodyweight(h, columns[h.column], _days_and_lifts(result, columns))]
            if len(own) == 1:
                result[at] = both[own[0] is both[0]]
                result.append(replace(own[0], field="own_weight"))
            else:
                result[at] = _better(result[at], rival, columns, where)
    return sorted(result, key=lambda heading: heading.column)


def choices(
    before: Iterable[Heading], rivals: Iterable[Heading], after: Sequence[Heading]
) -> tuple[str, ...]:
    """What was decided by the cells, for the ledger."""
    kept = {h.column: h for h in after}
    remarks = []
    for h in (*before, *rivals):
        now = kept.get(h.column)
        if now is None and h.field == "assistance":
            remarks.append(f"{h.text.strip()[:30]!r} counts as added weight below 0")
        elif now is None and h.field not in ("load", "reps", "note"):
            remarks.append(f"{h.text.strip()[:30]!r} is not used: another column says the {h.field}")
        elif now is not None and now.field != h.field and now.field in _READ_AS:
            remarks.append(f"{h.text.strip()[:30]!r} {_READ_AS[now.field]}")
    return tuple(remarks)


def _better(mine: Heading, rival: Heading, columns: Columns, where: tuple[str, int]) -> Heading:
    one, other = columns[mine.column], columns[rival.column]
    if mine.field == "date":
        return rival if _dated(other) > _dated(one) else mine
    if mine.field == "exercise":
        named = [normal(h.text).startswith(_EXERCISE) for h in (mine, rival)]
        return rival if (len(other.written), named[1]) > (len(one.written), named[0]) else mine
    if mine.field == "time":
        return rival if _clocks(other) < min(0.5, _clocks(one)) else mine
    if mine.field == "note":
        columns[mine.column] = combined([one, other], lambda *notes: "; ".join(filter(None, notes)) or None)
    if mine.field not in ("load", "reps"):
        return mine
    done = [bool(_DONE & set(normal(h.text).split())) for h in (mine, rival)]
    if done[0] != done[1]:
        return mine if done[0] else rival
    bare = [not any(c.isdigit() for text in column.written for c in text) for column in (one, other)]
    if bare[0] != bare[1]:
        return rival if bare[0] else mine  # ``Resistance`` with the colour of a band
    two_units = bool(mine.unit and rival.unit and mine.unit != rival.unit)
    if not two_units and _differ(one, other):
        what = "load" if mine.field == "load" else "repetitions"
        found = f"two columns say the {what}: {mine.text.strip()[:30]!r} and {rival.text.strip()[:30]!r}"
        raise BadExport(*where, found, _CURE)
    if mine.unit and rival.unit and two_units:
        one = _with_contrary(one, other, (mine.unit, rival.unit))
    columns[mine.column] = filled(one, other, f" {rival.unit}" if two_units else "")
    return mine


def _own_weight(h: Heading, headings: Sequence[Heading], columns: Columns) -> Heading:
    """A load beside added weight is the athlete's own where it looks like that."""
    if h.field != "load" or h.set_number is not None or all(o.field != "added" for o in headings):
        return h
    own = _is_bodyweight(h, columns[h.column], _days_and_lifts(headings, columns))
    return replace(h, field="own_weight") if own else h


def _days_and_lifts(headings: Sequence[Heading], columns: Columns) -> list[Texts]:
    by = {h.field: columns[h.column] for h in headings}
    return [by[name] for name in ("date", "exercise") if name in by]


def _is_bodyweight(heading: Heading, column: Texts, days: list[Texts]) -> bool:
    """Whether a column says the same all through each day, for several exercises and on several days, and
    hardly more on one day than on another, as the weight of the athlete does; `days`: dates and exercises.
    """
    kg = [any_number(tidy(text)) or 0.0 for text in column.written]
    if (
        len(days) < 2
        or not kg
        or bare_name(heading.text) in BARS
        or min(kg) < _LIGHTEST
        or max(kg) > _MOST_CHANGE * min(kg)
    ):
        return False
    told = pl.DataFrame([texts.ids.alias(name) for name, texts in zip("dew", [*days, column], strict=True)])
    each = told.filter(pl.all_horizontal(pl.all() > 0)).group_by("d").agg(pl.col("e", "w").n_unique())
    several = each.filter(pl.col("e") > 1)
    return several.height > 1 and bool((each.get_column("w") == 1).all())


def _days(column: Texts) -> int:
    """How many rows hold a date."""
    return int(column.spread(lambda text: read_moment(text).problem is None, pl.Boolean(), False).sum())


def _dated(column: Texts) -> tuple[int, int]:
    """How many rows hold a date, and where none does how many texts a number, such as a day of the month."""
    days = _days(column)
    return days, 0 if days else sum(any_number(tidy(text)) is not None for text in column.written)


def _clocks(column: Texts) -> float:
    """The share of the texts that are times of day; of a column without a text all."""
    times = [read_minutes(text) is not None for text in column.written]
    return sum(times) / len(times) if times else 1.0


def _differ(one: Texts, other: Texts) -> bool:
    """Whether some row has different numbers in the two columns."""
    both = (one.ids > 0) & (other.ids > 0)
    pairs = pl.DataFrame([one.ids.filter(both).alias("one"), other.ids.filter(both).alias("other")]).unique()
    return any(_number(one.texts[a]) != _number(other.texts[b]) for a, b in pairs.iter_rows())


def _number(text: str | None) -> float | str | None:
    words = tidy(text)
    value = any_number(words)
    return words if value is None else value


def _with_contrary(one: Texts, other: Texts, units: tuple[str, str]) -> Texts:
    """The loads of one column; where one in another unit differs, both: ``155 lb (60 kg)``."""
    pairs = pl.DataFrame([one.ids.alias("one"), other.ids.alias("other")])
    contrary: dict[tuple[int, int], str] = {}
    for a, b in pairs.filter((pl.col("one") > 0) & (pl.col("other") > 0)).unique().iter_rows():
        loads = [any_number(tidy(text)) for text in (one.texts[a], other.texts[b])]
        kg = [n * (KG_PER_LB if unit == "lb" else 1) for n, unit in zip(loads, units, strict=True) if n]
        if len(kg) == 2 and abs(kg[0] - kg[1]) > max(SAME_LOAD * max(kg), ROUNDED_KG):
            contrary[a, b] = f"{one.texts[a]} {units[0]} ({other.texts[b]} {units[1]})"
    if not contrary:
        return one
    texts = (*one.texts, *dict.fromkeys(contrary.values()))
    said = pl.DataFrame(
        [(a, b, texts.index(text)) for (a, b), text in contrary.items()],
        schema={"one": one.ids.dtype, "other": other.ids.dtype, "both": one.ids.dtype},
        orient="row",
    )
    both = pairs.join(said, on=["one", "other"], how="left", maintain_order="left").get_column("both")
    return Texts(both.zip_with(both.is_not_null(), one.ids), texts)


def filled(one: Texts, other: Texts, unit: str) -> Texts:
    """The texts of one column, where it is empty those of another with its unit behind them."""
    empty = (one.ids == 0) & (other.ids > 0)
    if not empty.any():
        return one
    texts: Mapping[str, int] = {text: i for i, text in enumerate(one.texts) if text is not None}
    more = [text + unit for text in other.written]
    ordered = (*one.texts, *(text for text in dict.fromkeys(more) if text not in texts))
    place = {text: i for i, text in enumerate(ordered) if text is not None}
    table = pl.Series([0 if text is None else place[text + unit] for text in other.texts], dtype=pl.UInt32)
    return Texts(table[other.ids].zip_with(empty, one.ids), ordered)
