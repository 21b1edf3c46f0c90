"""Sides: whether reps such as ``12/12`` beside a count of two sets are those of both sides of each set."""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np
import polars as pl

from analytics.catalogue import catalogue_of
from analytics.intake.cells.naming import says_one_sided
from analytics.intake.cells.numbers import tidy
from analytics.intake.lookup import constant
from analytics.intake.rows.problems import Problems
from analytics.intake.rows.recipes import Recipe
from analytics.intake.sheet.sheet import Sheet

_LISTED = re.compile(r"\d{1,3}(?:\s?,\s?\d{1,3})+")
_OPEN = "may be the reps of two sets, or of both sides of each"
_CURE = "Write a row for each set, or the sides as 10L/9R"


def both_sides(
    rows: pl.DataFrame,
    sheet: Sheet,
    recipes: list[Recipe],
    ids: np.ndarray,
    counts: np.ndarray,
    problems: Problems,
) -> np.ndarray:
    """The rows of one-sided lifts whose two sets (`counts`) were each done on both sides.

    `ids`: the recipe of each row.  Different reps, ``10/9``, may be two sets as well and are set aside,
    unless on that day or before a comma parts sets, or ``10/10`` says of two sets what ``10`` would say.
    """
    sided = [
        len(recipe) == 2 and {piece.sides for piece in recipe} == {"left", "right"} for recipe in recipes
    ]
    alike = [len({piece.reps for piece in recipe}) == 1 for recipe in recipes]
    mask = np.array(sided, dtype=bool)[ids] & (counts == 2)
    lift = sheet.fields["exercise"].where(_one_sided) if mask.any() else None
    if lift is None:
        return np.zeros(len(ids), dtype=bool)
    mask &= lift.to_numpy()
    equal = mask & np.array(alike, dtype=bool)[ids]
    listed = sheet.fields["reps"].spread(
        lambda text: bool(_LISTED.fullmatch(tidy(text))), pl.Boolean(), False
    )
    since = rows.filter(pl.Series(equal) | listed).get_column("date").min()
    told = (
        (rows.get_column("date") >= since).fill_null(False)
        if since
        else constant(False, len(ids), pl.Boolean())
    )
    unclear = pl.Series(mask & ~equal) & ~told
    if unclear.any():
        problems.rows(unclear, "reps", "set", _OPEN, _CURE)
    return mask


@lru_cache(maxsize=65536)
def _one_sided(name: str) -> bool:
    """Whether a lift is done with one arm or leg, by its name or as the catalogue knows it."""
    catalogue = catalogue_of(None)
    found = catalogue.matcher.match(name)
    return says_one_sided(name) or (found.how != "unknown" and catalogue.exercises[found.exercise].one_sided)
