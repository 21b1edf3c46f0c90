"""Suspect: sets that are implausible against the athlete's own history, kept but marked."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics.intake.lookup import codes_of, filled
from analytics.intake.table.turns import over_stretches
from analytics.schema import KG_PER_LB

HISTORY_DAYS = 8
LEAST_DAYS = 3
TEN_FOLD = (7.0, 14.0)
MIX_UP_TOLERANCE, MIX_UP_BELOW = 0.06, 0.03  # light days come near 0.4536 by themselves
MANY_REPS, NEAR_USUAL = 30, 0.7
_NEVER_BELOW = 2.0  # less than a unit mixed up, by far less than ten-fold


def mark_suspect(rows: pl.DataFrame) -> pl.Series:
    """`suspect` of `rows` (ordered by athlete, date, position); later days are never looked at.

    The usual load is the median of the heaviest loads of the last eight days of that exercise, at least
    three. Suspect are a set of seven to fourteen times the usual load or of both its neighbours, or of a
    seventh to a fourteenth of both; a day whose heaviest load is that far below the usual one; and every
    set of a day whose heaviest load is 1 / 0.4536 times the usual one to 6 %, or 0.4536 times to 3 % (pounds
    taken for kilograms, or the other way).  Of loads with bodyweight in them only those are suspect that add
    just the bodyweight of the day, which is moved anyway.  Suspect are also thirty repetitions and more with
    at least 70 % of the usual load, if the usual most with such loads is not a seventh of them.  The limits
    are our own rule, no source.
    """
    if rows.is_empty():
        return pl.Series("suspect", [], dtype=pl.Boolean)
    moved, kg = rows.get_column("moved"), rows.get_column("load_kg")
    load = filled(kg, np.nan)
    plain = load > 0
    if moved.any():
        plain &= ~moved.to_numpy()
    fresh = rows.get_column("set_number").to_numpy() == 1
    starts = np.flatnonzero(fresh)
    tops = over_stretches(np.maximum, np.where(plain, load, 0.0), starts)
    lows = over_stretches(np.minimum, np.where(plain, load, np.inf), starts)
    if not plain.all():
        load, none = np.where(plain, load, np.nan), tops == 0
        tops[none] = lows[none] = np.nan
    who, day = _days(rows, starts)
    usual, ratio = _history(who, day, tops)
    suspect = np.zeros(len(load), dtype=bool)
    with np.errstate(invalid="ignore", divide="ignore"):
        off = (
            _near(ratio, 1 / KG_PER_LB, MIX_UP_TOLERANCE)
            | _near(ratio, KG_PER_LB, MIX_UP_BELOW)
            | _ten_fold(1 / ratio)
        )
        # Only these days can hold a suspect set, and they are few.
        some = np.flatnonzero(off | (tops / usual >= TEN_FOLD[0]) | (tops / lows >= TEN_FOLD[0]))
        sizes = np.diff(starts, append=len(load))[some]
        at = np.repeat(starts[some] - (np.cumsum(sizes) - sizes), sizes) + np.arange(sizes.sum())
        own, first = load[at], fresh[at]
        told = np.repeat(off[some], sizes) | _ten_fold(own / np.repeat(usual[some], sizes))
        suspect[at] = (told | _among_neighbours(own, first)) & plain[at]
    if rows.get_column("typed").any():
        suspect |= rows.get_column("typed").to_numpy()
    reps = rows.get_column("reps")
    if (reps >= MANY_REPS).any():
        suspect |= _too_many(filled(reps, 0), load, starts, who, day)
    return pl.Series("suspect", suspect)


def _days(rows: pl.DataFrame, starts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(number of the athlete and exercise, number of the day) of each exercise and session."""
    athlete = codes_of(rows.get_column("athlete"))[starts]
    lift, day = (rows.get_column(name).to_numpy()[starts] for name in ("lift", "day"))
    who = athlete.astype(np.int64) * (1 + int(lift.max())) + lift
    if who.max() > 8 * len(who):
        _, who = np.unique(who, return_inverse=True)
    return who, day


def _history(who: np.ndarray, day: np.ndarray, tops: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(usual load before that day, heaviest load over it) of each exercise and session; NaN where unknown.

    Also NaN where an exercise was never twice as heavy on one day as on another: no limit is that near.
    """
    most, least = np.full(who.max() + 1, np.nan), np.full(who.max() + 1, np.nan)
    np.fmax.at(most, who, tops)
    np.fmin.at(least, who, tops)
    usual_kg, top_kg = _usual(who, day, tops, (most > _NEVER_BELOW * least)[who])
    return usual_kg, top_kg / usual_kg


def _usual(
    who: np.ndarray, day: np.ndarray, highest: np.ndarray, wanted: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """(median before, highest value of the whole day) of the sessions that are `wanted`; NaN elsewhere."""
    usual, whole = np.full(len(who), np.nan), np.full(len(who), np.nan)
    some = np.flatnonzero(wanted)
    if len(some):
        # By athlete and exercise, days in order; one exercise of two sessions a day has one highest value.
        order = some[np.argsort(who[some], kind="stable")]
        whose, when = who[order], day[order]
        opens = np.ones(len(order), dtype=bool)
        opens[1:] = (whose[1:] != whose[:-1]) | (when[1:] != when[:-1])
        first = np.flatnonzero(opens)
        top = np.fmax.reduceat(highest[order], first)
        place = np.cumsum(opens) - 1
        usual[order], whole[order] = _median_before(top, whose[first])[place], top[place]
    return usual, whole


def _too_many(
    reps: np.ndarray, load: np.ndarray, starts: np.ndarray, who: np.ndarray, day: np.ndarray
) -> np.ndarray:
    """Sets near the usual load with many times the usual repetitions."""
    sizes = np.diff(starts, append=len(reps))
    many = np.maximum.reduceat(reps, starts) >= MANY_REPS
    wanted = np.isin(who, who[many])
    usual_kg = np.repeat(_usual(who, day, np.fmax.reduceat(load, starts), wanted)[0], sizes)
    heavy = np.where(load >= NEAR_USUAL * np.repeat(np.fmax.reduceat(load, starts), sizes), reps, 0)
    usual_reps = np.repeat(_usual(who, day, np.maximum.reduceat(heavy, starts), wanted)[0], sizes)
    return (reps >= MANY_REPS) & (reps >= TEN_FOLD[0] * usual_reps) & (load >= NEAR_USUAL * usual_kg)


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


def _near(ratio: np.ndarray, wanted: float, tolerance: float) -> np.ndarray:
    return (ratio >= wanted * (1 - tolerance)) & (ratio <= wanted * (1 + tolerance))


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
