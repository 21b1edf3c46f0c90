"""Suspect: sets that are implausible against the athlete's own history, kept but marked."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics.schema import KG_PER_LB

HISTORY_DAYS = 8
LEAST_DAYS = 3
TEN_FOLD = (7.0, 14.0)
MIX_UP_TOLERANCE = 0.06


def mark_suspect(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` (ordered by athlete, date, position) with `suspect`; later days are never looked at.

    The usual load is the median of the heaviest loads of the last eight days of that exercise, at least
    three. Suspect are a set of seven to fourteen times the usual load or of both its neighbours, or of a
    seventh to a fourteenth of both; a day whose heaviest load is that far below the usual one; and every
    set of a day whose heaviest load is 1 / 0.4536 or 0.4536 times the usual one to 6 % (pounds taken for
    kilograms, or the other way).  Loads with bodyweight in them are left out.  The limits are our own rule,
    no source.
    """
    if not rows.height:
        return rows.with_columns(pl.lit(False).alias("suspect"))
    plain = (~rows["moved"]).to_numpy() & (rows["load_kg"] > 0).fill_null(False).to_numpy()
    load = np.where(plain, rows["load_kg"].fill_null(0.0).to_numpy(), np.nan)
    changes = pl.any_horizontal(pl.col(name) != pl.col(name).shift() for name in ("day", "position"))
    fresh = rows.select(changes.fill_null(True).alias("f")).get_column("f").to_numpy()
    starts = np.flatnonzero(fresh)
    usual, ratio = _history(rows, np.fmax.reduceat(load, starts), starts)
    group = np.cumsum(fresh) - 1
    with np.errstate(invalid="ignore", divide="ignore"):
        off = _near(ratio, 1 / KG_PER_LB) | _near(ratio, KG_PER_LB) | _ten_fold(1 / ratio)
        suspect = off[group] | _ten_fold(load / usual[group]) | _among_neighbours(load, fresh)
    return rows.with_columns(pl.Series("suspect", suspect & plain))


def _history(rows: pl.DataFrame, tops: np.ndarray, starts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(usual load before that day, heaviest load over it) of each exercise and day; NaN where unknown."""
    days = rows.select("athlete", "lift", "day")[pl.Series(starts, dtype=pl.UInt32)]
    lift = days.select(pl.col("athlete").to_physical().cast(pl.Int64) * 2**32 + pl.col("lift")).to_series()
    # By athlete and exercise, days in order; one exercise of two sessions a day has one heaviest load.
    order = np.argsort(lift.to_numpy(), kind="stable")
    who, day = lift.to_numpy()[order], days.get_column("day").to_numpy()[order]
    opens = np.ones(len(order), dtype=bool)
    opens[1:] = (who[1:] != who[:-1]) | (day[1:] != day[:-1])
    first = np.flatnonzero(opens)
    top = np.fmax.reduceat(tops[order], first)
    usual = _median_before(top, who[first])
    place = np.cumsum(opens) - 1
    usual_kg, ratio = np.empty(len(order)), np.empty(len(order))
    usual_kg[order] = usual[place]
    ratio[order] = (top / usual)[place]
    return usual_kg, ratio


def _median_before(top: np.ndarray, who: np.ndarray) -> np.ndarray:
    """Median of the last HISTORY_DAYS values of the same `who` before each one; NaN with too few."""
    past = np.full((len(top), HISTORY_DAYS), np.nan)
    for step in range(1, min(HISTORY_DAYS, len(top) - 1) + 1):
        same = who[step:] == who[:-step]
        past[step:, step - 1] = np.where(same, top[:-step], np.nan)
    past.sort(axis=1)
    count = (~np.isnan(past)).sum(axis=1)
    row = np.arange(len(top))
    low, high = past[row, np.maximum(count - 1, 0) // 2], past[row, np.minimum(count // 2, HISTORY_DAYS - 1)]
    return np.where(count >= LEAST_DAYS, (low + high) / 2, np.nan)


def _near(ratio: np.ndarray, wanted: float) -> np.ndarray:
    return (ratio >= wanted * (1 - MIX_UP_TOLERANCE)) & (ratio <= wanted * (1 + MIX_UP_TOLERANCE))


def _ten_fold(ratio: np.ndarray) -> np.ndarray:
    return (ratio >= TEN_FOLD[0]) & (ratio <= TEN_FOLD[1])


def _among_neighbours(load: np.ndarray, fresh: np.ndarray) -> np.ndarray:
    """Sets of ten times both neighbours of the same exercise, or of a tenth of both."""
    before = np.concatenate([[np.nan], load[:-1]])
    before[fresh] = np.nan
    after = np.concatenate([load[1:], [np.nan]])
    after[np.concatenate([fresh[1:], [True]])] = np.nan
    return (_ten_fold(load / before) & _ten_fold(load / after)) | (
        _ten_fold(before / load) & _ten_fold(after / load)
    )
