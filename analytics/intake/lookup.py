"""Texts: a column of cells as its distinct texts and one number per row, so that each text is read once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import polars as pl

_FEW = 10_000
"""With fewer rows the quicker way for many is not the quicker one."""
_FEW_TEXTS = 10
"""So many can be looked for one by one."""


@dataclass(frozen=True, slots=True)
class Texts:
    """`texts[ids[i]]` is the text of row i, None where nothing is written.

    Those of a column of cells are sorted, and number 0 is the empty cell; None may also stand in place of a
    text that is in no row.
    """

    ids: pl.Series
    texts: tuple[str | None, ...]

    @staticmethod
    def joined(parts: Sequence[tuple[np.ndarray, Sequence[str | None]]]) -> Texts:
        """Parts of a column, from above to below: the number of each row, and the texts these stand for."""
        ordered = sorted({text for _, texts in parts for text in texts if text})
        number: dict[str | None, int] = {text: i for i, text in enumerate(ordered, 1)}
        ids = np.empty(sum(len(numbers) for numbers, _ in parts), dtype=np.uint32)
        at = 0
        for numbers, texts in parts:
            table = np.array([number.get(text, 0) for text in texts], dtype=np.uint32)
            np.take(table, numbers, out=ids[at : at + len(numbers)], mode="clip")
            at += len(numbers)
        return Texts(pl.Series(ids), (None, *ordered))

    @staticmethod
    def listed(cells: Sequence[str | None]) -> Texts:
        """The texts of cells one below another."""
        number: dict[str | None, int] = {}
        ids = [number.setdefault(cell, len(number)) for cell in cells]
        return Texts.joined([(np.array(ids, dtype=np.uint32), list(number))])

    @staticmethod
    def of(column: pl.Series) -> Texts:
        """The texts of a Categorical column, without the space around them."""
        if column.null_count() == len(column):
            return Texts.blank(len(column))
        codes = column.to_physical()
        blank = 1 + int(codes.max())  # type: ignore[arg-type]
        numbers = filled(codes.rechunk(), blank)
        found = np.flatnonzero(np.bincount(numbers, minlength=blank)[:blank]).astype(np.uint32)
        texts: list[str | None] = [None] * (blank + 1)
        for i, text in zip(found, pl.Series(found).cat.to(column.dtype).cast(pl.String), strict=True):
            texts[i] = text.strip()
        return Texts.joined([(numbers, texts)])

    @staticmethod
    def blank(height: int) -> Texts:
        """A column in which nothing is written."""
        return Texts(constant(0, height, pl.UInt32()), (None,))

    @staticmethod
    def of_strings(column: pl.Series) -> Texts:
        """The texts of a column of strings, without the space around them."""
        return Texts.of(column.cast(pl.Categorical(pl.Categories.random())))

    @property
    def written(self) -> list[str]:
        """The distinct texts, sorted, without the empty one; some may stand in no row after `take`."""
        return [text for text in self.texts if text is not None]

    @property
    def part(self) -> tuple[np.ndarray, tuple[str | None, ...]]:
        """As a part of a longer column, to be `joined`."""
        return self.ids.to_numpy(), self.texts

    def stripped(self) -> Texts:
        """The same texts without the space around them."""
        bare = [text and text.strip() for text in self.texts]
        return self if bare == list(self.texts) else Texts.joined([(self.ids.to_numpy(), bare)])

    def between(self, start: int, end: int) -> Texts:
        """The rows from `start` to before `end`; None in place of texts that stand in others alone."""
        numbers, texts = self.ids.to_numpy(), list(self.texts)
        inside, outside = numbers[start:end], {*numbers[:start].tolist(), *numbers[end:].tolist()}
        if len(outside) < _FEW_TEXTS and len(inside) > _FEW:
            met = [i for i in outside if (inside == i).any()]
        else:
            stands = np.zeros(len(texts), dtype=bool)
            stands[inside] = True
            met = np.flatnonzero(stands).tolist()
        for i in outside.difference(met):
            texts[i] = None
        return Texts(self.ids[start:end], tuple(texts))

    def take(self, rows: pl.Series) -> Texts:
        """The texts of some rows, by number (integers) or by a mask (booleans)."""
        return Texts(self.ids.filter(rows) if rows.dtype == pl.Boolean else self.ids[rows], self.texts)

    def spread(self, read: Callable[[str], object], dtype: pl.DataType, empty: object = None) -> pl.Series:
        """What `read` makes of each text, one value per row; `empty` for empty cells."""
        return self._of([empty if text is None else read(text) for text in self.texts], dtype)

    def spread_all(
        self, read: Callable[[str], Sequence[object]], schema: dict[str, pl.DataType]
    ) -> dict[str, pl.Series]:
        """As `spread`, for a `read` that gives several values; empty cells give null values."""
        rows = [(None,) * len(schema) if text is None else tuple(read(text)) for text in self.texts]
        return {
            name: self._of([row[i] for row in rows], dtype).alias(name)
            for i, (name, dtype) in enumerate(schema.items())
        }

    def _of(self, values: list[object], dtype: pl.DataType) -> pl.Series:
        """One value per row out of one per text; the same for all where no empty cell says another."""
        if all(value == values[-1] for value in values[1:]) and (
            values[0] == values[-1] or (None not in self.texts[1:] and not (self.ids == 0).any())
        ):
            return constant(values[-1], len(self.ids), dtype)
        return _gathered(values, lambda values: pl.Series(values, dtype=dtype), self.ids)

    def where(self, test: Callable[[str], bool], empty: bool = False) -> pl.Series | None:
        """Mask of the rows whose text passes; None where no text of the column does."""
        passed = [empty if text is None else test(text) for text in self.texts]
        return _marked(passed, self.ids) if any(passed) else None

    def cells(self, rows: pl.Series | None = None) -> pl.Series:
        """The texts of all rows, or of the rows of a mask, as strings."""
        ids = self.ids if rows is None else self.ids.filter(rows)
        return _gathered(self.texts, lambda texts: pl.Series(texts, dtype=pl.String), ids)

    def enum(self) -> pl.Series:
        """The texts of all rows as an Enum of their own."""
        return _gathered(self.texts, _kept_enum if len(self.texts) <= _FEW else _enum, self.ids)

    def categorical(self, words: pl.DataType) -> pl.Series:
        """The texts of all rows over a shared dictionary."""
        return _gathered(self.texts, lambda texts: pl.Series(texts, dtype=pl.String).cast(words), self.ids)


def _gathered(
    values: Sequence[object], column: Callable[[tuple[object, ...]], pl.Series], ids: pl.Series
) -> pl.Series:
    """The value of each number; nulls are put in afterwards, which takes a fraction of the time."""
    some = next((value for value in values if value is not None), None)
    if len(ids) < _FEW or some is None or None not in values:
        return column(tuple(values))[ids]
    found = column(tuple(some if value is None else value for value in values))[ids]
    empty = _marked([value is None for value in values], ids)
    return found.set(empty, None) if empty.any() else found


def _marked(marks: list[bool], ids: pl.Series) -> pl.Series:
    """The mark of each number; by bytes, which are quicker to find than bits."""
    return ids == 0 if marks[0] and sum(marks) == 1 else pl.Series(np.array(marks, dtype=np.uint8))[ids] == 1


def _enum(texts: tuple[object, ...]) -> pl.Series:
    """The texts as an Enum of their own."""
    return pl.Series(texts, dtype=pl.Enum([str(text) for text in dict.fromkeys(texts) if text is not None]))


_kept_enum = lru_cache(maxsize=64)(_enum)
"""The parts of a set table ask for the same few texts again and again."""


def constant(value: object, height: int, dtype: pl.DataType) -> pl.Series:
    """A column that says the same in every row."""
    return pl.Series([value], dtype=dtype).new_from_index(0, height)


def codes_of(column: pl.Series) -> np.ndarray:
    """The numbers of a column of Enum without nulls.

    By Arrow, as in `filled`: a query of Polars waits for its threads, which are at other work here.  Arrow's
    own `to_numpy` would load pandas.
    """
    return pl.Series(column.rechunk().to_arrow().indices).to_numpy()


def filled(column: pl.Series, empty: float) -> np.ndarray:
    """The numbers of a column, `empty` for nulls."""
    if not column.null_count():
        return column.to_numpy()
    return pl.Series(column.rechunk().to_arrow().fill_null(empty)).to_numpy()


def among(lines: pl.Series, some: pl.Series) -> pl.Series:
    """Mask of `lines` (whole numbers from 0, as those of a file) that are one of `some`."""
    asked, found = lines.cast(pl.UInt32), some.to_numpy()
    marked = np.zeros(1 + max(int(asked.max() or 0), found.max(initial=0)), dtype=np.uint8)  # type: ignore[arg-type]
    marked[found] = 1
    return pl.Series(marked)[asked] == 1


def any_of(masks: list[pl.Series]) -> pl.Series:
    """Rows where one of the masks holds."""
    result = masks[0]
    for mask in masks[1:]:
        result = result | mask
    return result


def all_of(masks: list[pl.Series]) -> pl.Series:
    """Rows where all masks hold."""
    result = masks[0]
    for mask in masks[1:]:
        result = result & mask
    return result
