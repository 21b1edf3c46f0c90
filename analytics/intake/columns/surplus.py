"""Surplus: rows with more cells than the header names, or parted by another sign; cells may have shifted."""

from __future__ import annotations

from collections.abc import Sequence

import polars as pl

from analytics.intake.cells.remark import is_remark
from analytics.intake.header.head import Head
from analytics.intake.header.heading import Heading
from analytics.intake.lookup import Texts, any_of
from analytics.intake.source.delimiter import DELIMITERS
from analytics.intake.source.records import Records

_NUMBERS = {"load", "added", "reps", "rir", "rpe", "sets", "set_number", "rest", "seconds", "work"}
"""Fields whose cells, one place further on, would not leave a word in the last one."""
_SURE_NUMBERS = {"load", "added", "reps", "sets", "set_number", "rest", "seconds"}
"""Fields that say no word, so that none behind them comes from there."""
_ALWAYS = {"date", "exercise", "load", "reps", "work"}
"""Fields whose cell a set does not lack."""


def beyond_names(
    cells: Records,
    widths: pl.Series | None,
    head: Head,
    columns: dict[int, Texts],
    headings: list[Heading],
    keep: pl.Series,
) -> list[pl.Series]:
    """Masks of the rows whose cells may have shifted; there may be none.

    `cells`: the rows below the header, of which `keep` may hold sets; `widths`: as those of the grid.

    Something stands beyond the last name, or, in a file parted by commas, there are more cells than names
    where other rows have as many: an unquoted ``67,5`` shifts a row whose last cell is empty, as that of an
    effort or a note may be.  A comma in a last column of notes shifts nothing; the note becomes whole again.
    Words alone behind a last column of numbers are a note, and go to `columns` and `headings`.
    """
    if (loose := _loose_notes(cells, widths, head, headings)) is not None:
        columns[head.last + 1] = loose
        headings.append(Heading(head.last + 1, "", "note"))
        return []
    spare = [cells.texts(i) for i in range(head.last + 1, len(cells.columns))]
    masks = [column.ids > 0 for column in spare if column.written]
    last = [h for h in headings if h.column == head.last]
    if widths is not None and not any(h.field in _ALWAYS and not h.set_number for h in last):
        wide = widths.slice(head.rows_at)
        names = max(head.last + 1, int(widths[head.line - 1]))
        if (wide == names).any():
            masks.append((wide > names) & keep)
    if not masks:
        return []
    noted = _notes(cells, head, columns, headings)
    if noted is None:
        return masks
    beyond = any_of(masks)
    whole = beyond & noted
    if whole.any():
        columns[head.last] = _joined(columns[head.last], spare, whole)
    return [beyond & ~whole]


def _loose_notes(
    cells: Records, widths: pl.Series | None, head: Head, headings: Sequence[Heading]
) -> Texts | None:
    """The one column without a name, if words alone stand in it, no other holds notes and nothing shifted.

    In a file parted by commas the header has to have its cell, too.
    """
    last = next((h.field for h in headings if h.column == head.last), None)
    own = widths is None or int(widths[head.line - 1]) == head.last + 2 == widths.max()
    beyond = range(head.last + 1, len(cells.columns))
    if last not in _SURE_NUMBERS or not own or not beyond or any(h.field == "note" for h in headings):
        return None
    column, *others = map(cells.texts, beyond)
    worded = bool(column.written) and all(text[0].isalpha() for text in column.written)
    return column if worded and not any(other.written for other in others) else None


def other_delimiters(cells: Records, delimiter: str, keep: pl.Series) -> list[pl.Series]:
    """A mask of the rows whose first cell holds a whole row parted by another sign, if there are any."""
    if keep.all():
        return []
    others = [sign for sign, name in DELIMITERS.items() if name != delimiter]
    first = cells.columns[0]
    lone = (first.texts[i] for i in first.ids.filter(~keep).unique())
    rows = {
        text for text in lone if text and any(text.count(sign) > 1 for sign in others) and not is_remark(text)
    }
    rows = {text for text in rows if any(c.isdigit() for c in text)}
    parted = first.where(rows.__contains__)
    return [] if parted is None else [parted & ~keep]


def _notes(
    cells: Records, head: Head, columns: dict[int, Texts], headings: Sequence[Heading]
) -> pl.Series | None:
    """Rows with words in the last column of notes, where only numbers stand between it and the loads, or
    where a space stands behind the delimiter in the note, and not before the note."""
    last = next((h for h in headings if h.column == head.last and h.field == "note"), None)
    amounts = [h.column for h in headings if h.field in ("load", "added", "work")]
    if last is None or not amounts:
        return None
    between = {h.column: h.field for h in headings if min(amounts) < h.column < head.last}
    words = columns[head.last].where(lambda text: any(c.isalpha() for c in text))
    numbers = set(range(min(amounts) + 1, head.last)) == between.keys() and set(between.values()) <= _NUMBERS
    if numbers or words is None or head.last + 1 >= len(cells.columns):
        return words if numbers else None
    own, rest = (cells.columns[head.last + i].spread(_spaced, pl.Boolean(), False) for i in (0, 1))
    return words & rest & ~own


def _spaced(text: str) -> bool:
    return text.startswith(" ")


def _joined(notes: Texts, spare: list[Texts], whole: pl.Series) -> Texts:
    """The notes, of the rows of a mask with what stands behind them."""
    own = notes.cells()
    told = pl.DataFrame([cells.alias(str(i)) for i, cells in enumerate([own, *(t.cells() for t in spare)])])
    texts = told.select(pl.concat_str(pl.all(), separator=", ", ignore_nulls=True)).to_series()
    return Texts.of_strings(texts.zip_with(whole, own))
