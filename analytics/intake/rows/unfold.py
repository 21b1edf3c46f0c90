"""Unfolding: rows that stand for several sets, by shorthand, lists or a count of sets, to one row a set."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np
import polars as pl

from analytics.intake.cells.loadlist import comma_loads, open_list, open_pair, parse_load_list
from analytics.intake.cells.loads import Load, parse_load
from analytics.intake.cells.numbers import set_number, tidy
from analytics.intake.cells.reps import Piece, parse_reps, reps_in_signs
from analytics.intake.cells.shorthand import MOST_SETS, open_numbers, parse_work, reading_of
from analytics.intake.lookup import Texts
from analytics.intake.rows.efforts import with_efforts
from analytics.intake.rows.pairs import in_order, pair_order
from analytics.intake.rows.problems import CURES, Problems
from analytics.intake.rows.recipes import Recipe, recipe_table, with_own
from analytics.intake.rows.repeats import repeats
from analytics.intake.rows.sides import both_sides
from analytics.intake.sheet.sheet import Sheet

_SLASHED = re.compile(r"\d{1,3}\s?/\s?\d{1,3}")


@dataclass(frozen=True, kw_only=True)
class Columns:
    """Which columns hold several sets a cell: `work` shorthand or a list of reps, `loads` lists."""

    work: str | None
    loads: bool

    @property
    def any(self) -> bool:
        """Whether there is one."""
        return bool(self.work) or self.loads


def find_columns(sheet: Sheet, decimal: str) -> Columns:
    """The columns that hold several sets a cell."""
    work = "work" if "work" in sheet.fields else None
    for name in ("sets", "reps", "set_number"):
        texts = sheet.fields[name].written if work is None and name in sheet.fields else []
        if any(_is_list(tidy(text), name) for text in texts):
            work = name
    elsewhere = "reps" in sheet.fields and sheet.fields["reps"].written
    if work is None and not elsewhere and pair_order(sheet, "load"):
        return Columns(work="load", loads=False)
    loads = "load" in sheet.fields and any(
        parse_load(text, decimal).problem and len(parse_load_list(text, decimal) or ()) > 1
        for text in sheet.fields["load"].written
    )
    if work is None and not loads and "load" in sheet.fields and not elsewhere:
        texts = [text for text in sheet.fields["load"].written if parse_load(text, decimal).problem]
        if any("x" in tidy(text) and not parse_work(text, decimal, "load")[1] for text in texts):
            work = "load"
    return Columns(work=work, loads=loads)


def _is_list(words: str, name: str) -> bool:
    if not any(c.isdigit() for c in words):
        return False
    if "x" in words.removesuffix("x"):
        return True
    if name != "reps" or parse_reps(words)[1] is None:
        return False
    return bool(parse_work(reps_in_signs(words), "point", "sets")[0])


def unfold(
    rows: pl.DataFrame, sheet: Sheet, columns: Columns, decimal: str, problems: Problems
) -> pl.DataFrame:
    """`rows` (one per row of the sheet, in order) with one row a set, its `piece` counted within the row."""
    height = sheet.row.len()
    if columns.any:
        ids, recipes = _recipes(sheet, columns, decimal, problems)
    else:
        ids, recipes = np.zeros(height, dtype=np.int64), [(Piece(),)]
    sizes = np.array([len(recipe) for recipe in recipes], dtype=np.int64)
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    size = sizes[ids]
    counts = np.ones(height, dtype=np.int64) if columns.work == "sets" else repeats(rows, sheet)
    single = np.array([_is_one_set(recipe) for recipe in recipes], dtype=bool)
    told = np.array([all(piece.told for piece in recipe) for recipe in recipes], dtype=bool)
    one, sided = single[ids], (single & told)[ids]
    again = np.where(one & (sided | (size != counts)), counts, 1)
    if columns.work == "reps":
        again = np.where(both_sides(rows, sheet, recipes, ids, counts, problems), counts, again)
    fewer = pl.Series(~one & (size < counts) & (size > 0) & (columns.work == "reps"))
    if fewer.any():
        problems.rows(fewer, "reps", "set", "lists the reps of fewer sets than are counted", CURES["set"])
    if columns.work and "load" in sheet.fields:
        _tell_ambiguous(sheet, size, problems)
    total = size * again
    at = np.repeat(np.arange(height), total)
    place = np.arange(len(at)) - np.repeat(np.cumsum(total) - total, total)
    rows = rows[pl.Series(at, dtype=pl.UInt32)].with_columns(pl.Series("piece", place, dtype=pl.Int32))
    rows = with_efforts(rows, sheet, at, total)
    if not columns.any:
        return rows
    pick = starts[ids[at]] + place % size[at]
    return with_own(rows, recipe_table(recipes)[pl.Series(pick, dtype=pl.UInt32)])


def _is_one_set(recipe: Recipe) -> bool:
    """Whether a count of sets beside it counts the whole: one set, with its pauses, or both sides alike."""
    if {piece.sides for piece in recipe} == {"left", "right"}:
        return len(recipe) == 2 and len({piece.reps for piece in recipe}) == 1
    return len(recipe) == 1 or all(piece.role == "rest_pause" for piece in recipe[1:])


def _recipes(
    sheet: Sheet, columns: Columns, decimal: str, problems: Problems
) -> tuple[np.ndarray, list[Recipe]]:
    """(number of the recipe of each row, recipes): what its work cell, and its list of loads, ask for."""
    name = columns.work or "reps"
    column = sheet.fields.get(name)
    work: list[Recipe] = [(Piece(),)]
    if column is None:
        ids = np.zeros(sheet.row.len(), dtype=np.int64)
    else:
        reading = reading_of(column.written, "load" in sheet.fields and name != "load")
        alone = name != "reps" and "load" not in sheet.fields
        order = pair_order(sheet, name)
        signs = {text: in_order(text, order) if order else text for text in column.written}
        read = {text: _read(signs[text], name, decimal, reading, alone) for text in column.written}
        slashed = [text for text in column.written if _SLASHED.fullmatch(tidy(text))] if alone else []
        if why := next((read[text][1] for text in slashed if read[text][1]), None):
            read |= dict.fromkeys(slashed, ((), why))  # one of ``80/8``, ``15/10`` tells of all
        kind = "reps" if name == "reps" else "load" if name == "load" else "set"
        problems.texts(name, kind, {text: problem for text, (_, problem) in read.items() if problem})
        work = [(Piece(),) if text is None else read[text][0] for text in column.texts]
        ids = column.ids.to_numpy().astype(np.int64)
    if not columns.loads:
        return ids, work
    return _with_lists(sheet, ids, work, decimal, problems)


def _read(text: str, name: str, decimal: str, reading: str, alone: bool) -> tuple[Recipe, str | None]:
    if name == "reps":
        piece, problem = parse_reps(text)
        if problem is None:
            return (piece,), None
        text = reps_in_signs(text, loaded=reading == "sets")
        if problem != "holds several sets" and "x" not in text:
            several = parse_work(text, decimal, reading)
            return several if several[1] is None else ((), problem)
    if name in ("sets", "set_number") and (number := set_number(text)) is not None:
        # Beside shorthand a plain number in a column of sets counts them.
        return (Piece(),) * (min(max(number, 1), MOST_SETS) if name == "sets" else 1), None
    if name == "load":
        load = parse_load(text, decimal)
        if load.problem is None:
            return (Piece(load=load),), None
    found = parse_work(text, decimal, reading)
    return ((), why) if alone and (why := open_numbers(text, found[0])) else found


def _with_lists(
    sheet: Sheet, ids: np.ndarray, work: list[Recipe], decimal: str, problems: Problems
) -> tuple[np.ndarray, list[Recipe]]:
    """Each load of a list goes to the set in the same place; one load or one set serves for all."""
    column: Texts = sheet.fields["load"]
    loads: list[tuple[Load, ...]] = []
    unread: dict[str, str] = {}
    for text in column.texts:
        if text is None:
            loads.append((Load(),))
            continue
        single = parse_load(text, decimal)
        found = (single,) if single.problem is None else parse_load_list(text, decimal)
        if found is None:
            unread[text] = open_list(text) or single.problem or "is not a load"
        loads.append(found or ())
    problems.texts("load", "load", unread)
    pairs = column.ids.to_numpy().astype(np.int64) * len(work) + ids
    distinct, numbers = np.unique(pairs, return_inverse=True)
    recipes: list[Recipe] = []
    told: list[str | None] = [None] * len(distinct)
    for i, pair in enumerate(distinct.tolist()):
        given, sets = loads[pair // len(work)], work[pair % len(work)]
        if len(sets) == 1:
            told[i] = open_pair(given)
        if len(given) == 1 or not given or not sets:
            recipes.append(
                tuple(replace(piece, load=piece.load or given[0]) for piece in sets) if given else ()
            )
        elif len(sets) in (1, len(given)):
            spread = sets * len(given) if len(sets) == 1 else sets
            recipes.append(tuple(replace(p, load=load) for p, load in zip(spread, given, strict=True)))
        else:
            recipes.append(())
            told[i] = "lists another number of loads than there are sets"
    why = pl.Series(told, dtype=pl.String)[pl.Series(numbers, dtype=pl.UInt32)]
    mask = why.is_not_null()
    if mask.any():
        problems.rows(mask, "load", "set", why.filter(mask), CURES["set"])
    return numbers, recipes


def _tell_ambiguous(sheet: Sheet, size: np.ndarray, problems: Problems) -> None:
    """Loads such as ``60,65`` beside as many sets: one load with a decimal comma, or two loads."""
    count = sheet.fields["load"].spread(comma_loads, pl.Int64(), 0).to_numpy()
    mask = pl.Series((count > 1) & (count == size))
    if mask.any():
        problems.rows(
            mask, "load", "load", "may be one load with a decimal comma, or one load a set", CURES["load"]
        )
