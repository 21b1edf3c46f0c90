"""Role rules: warm-up, drop, rest-pause and back-off from loads, repetitions and rest, on arrays."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

BEND = 28.0
"""Strength shown by a set is log load + log(1 + (reps + reserve - 1) / 28): 76 % of a maximum at ten reps."""
SAME = 0.02
"""Loads closer than 2 % are one load."""

# A set before the first hard one is a warm-up if it falls this far short of the best (log strength):
# with more repetitions than the heaviest set has, no more than that, hardly more than half of that.
_SHORT, _SHORT_EVEN, _SHORT_FEW = 0.225, 0.20, 0.10
_FEW = 0.6
# It falls short sooner if the heaviest load is repeated (no pyramid) or its own repetitions are a multiple.
_SHORT_PLAIN, _MANY = 0.14, 2.2
# A small step up in load and down in repetitions links it to the hard set after it: a pyramid.
_STEP, _STEP_REPS, _STEPS = 0.19, 1.6, 4
_AS_MANY, _LIGHT_REPS = 0.8, 1.5
_PAST_ALLOWANCE = 0.05  # The best is the day's, or what earlier days were used to less this much.
_RIR_EASES = 0.7  # In logs that tell reps in reserve, sets without it fall short sooner,
_SHORT_WITH_RIR = 0.5  # and sets with it hardly ever.

# Log odds that a lighter set is a drop and not a back-off set.
_ONE, _LOSS, _MORE_REPS, _SHALLOW = -3.6, -19.0, -2.0, -30.0
_REPEATED, _AFTER_A_ROW, _STAIRS = -4.0, 1.5, 2.5
_RESERVE, _SPENT, _REST = -4.0, 1.0, 8.0
_QUICK_S, _RESTED_S = 30.0, 45.0

_PAUSE_SHARE, _PAUSED_SHARE, _PAUSE_FROM = 0.58, 0.75, 5
"""At an unchanged load, so few of the repetitions before are a rest-pause; further ones may have more."""


@dataclass(frozen=True, kw_only=True)
class Sequences:
    """Sets in order, one exercise, day and side after the other; all arrays of length n.

    `fresh`: first set of a sequence.  `log_load` of kg, `reps` at least 1, `rir` and `rest_s` NaN if unknown.
    `best`: log strength that the set shows.  `told_warm`, `told_other`: the log says warm-up, or another
    role.  `usual`: best log strength of earlier days, NaN if none.  `marks`: the athlete is known to mark
    warm-ups, so what is unmarked is none.
    """

    fresh: np.ndarray
    log_load: np.ndarray
    reps: np.ndarray
    rir: np.ndarray
    rest_s: np.ndarray
    best: np.ndarray
    told_warm: np.ndarray
    told_other: np.ndarray
    usual: np.ndarray
    marks: np.ndarray
    starts: np.ndarray = field(init=False)
    of: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        starts = np.flatnonzero(self.fresh)
        object.__setattr__(self, "starts", starts)
        object.__setattr__(
            self, "of", np.repeat(np.arange(len(starts)), np.diff(starts, append=len(self.fresh)))
        )

    def most(self, values: np.ndarray) -> np.ndarray:
        """Largest value of each sequence, at every set of it."""
        return np.maximum.reduceat(values, self.starts)[self.of]

    def so_far(self, flags: np.ndarray) -> np.ndarray:
        """How many of `flags` are set in the sequence up to here, this set included."""
        count = np.cumsum(flags)
        return count - (count - flags)[self.starts][self.of]


def before(values: np.ndarray) -> np.ndarray:
    """Value of the set before, whatever its sequence; the first one's own."""
    return np.concatenate([values[:1], values[:-1]])


def after(values: np.ndarray) -> np.ndarray:
    """Value of the set after, whatever its sequence; the last one's own."""
    return np.concatenate([values[1:], values[-1:]])


def shown_share(reps: np.ndarray, rir: np.ndarray) -> np.ndarray:
    """Strength that sets show over their load, reserve counted where it is known (at most 5)."""
    return 1 + (reps - 1 + np.fmin(np.fmax(rir, 0), 5)) / BEND


def best_strength(log_load: np.ndarray, reps: np.ndarray, rir: np.ndarray) -> np.ndarray:
    """Log strength that sets show."""
    return log_load + np.log(shown_share(reps, rir))


def warm_ups(sets: Sequences) -> np.ndarray:
    """Flags of the light sets before the first hard one."""
    best = sets.best
    heaviest = sets.log_load > sets.most(sets.log_load) - SAME
    top_reps = sets.most(np.where(heaviest, sets.reps, 0))
    plain = np.add.reduceat(heaviest.astype(np.int64), sets.starts)[sets.of] > 1
    short = np.fmax(sets.most(best), sets.usual - _PAST_ALLOWANCE) - best
    more = np.where(plain | (sets.reps >= _MANY * top_reps), _SHORT_PLAIN, _SHORT)
    even = np.where(plain, _SHORT_PLAIN, _SHORT_EVEN)
    limit = np.where(sets.reps <= top_reps, even, more)
    limit = np.where(sets.reps <= _FEW * top_reps, _SHORT_FEW, limit)
    has_rir = ~np.isnan(sets.rir)
    limit = np.where(sets.most(has_rir), _RIR_EASES * limit, limit)
    limit = np.where(has_rir, _SHORT_WITH_RIR, limit)
    light = ~heaviest & (short > limit) & ~sets.marks & ~sets.told_other | sets.told_warm
    step = after(sets.log_load) - sets.log_load
    next_reps = after(sets.reps)
    # After light sets of many repetitions, equal repetitions are the work and no longer the warm-up.
    lift = 1000.0 * sets.of
    most_before = before(np.maximum.accumulate(sets.reps + lift)) - lift
    as_many = (sets.reps >= _AS_MANY * next_reps) & (most_before >= _LIGHT_REPS * sets.reps)
    fewer = (sets.reps > next_reps) | as_many
    small = (step < _STEP) & fewer & (sets.reps <= _STEP_REPS * next_reps + 1)
    small &= ~after(sets.fresh) & ~sets.told_warm
    small[-1:] = False
    for _ in range(_STEPS):
        light = light & ~(small & ~after(light))
    return sets.so_far(~light) == 0


@dataclass(frozen=True, kw_only=True)
class Lighter:
    """`lighter`: below an earlier set, warm-ups aside.  `odds`: log odds of a drop, NaN where not judged.

    `turn`: first set of a run of one load.
    """

    lighter: np.ndarray
    turn: np.ndarray
    odds: np.ndarray


def judge_lighter(sets: Sequences, warm: np.ndarray) -> Lighter:
    """Lighter sets, and how likely the first of each run of one load is a drop."""
    lower = before(sets.log_load)
    turn = sets.fresh | before(warm) | (np.abs(sets.log_load - lower) > SAME)
    # A running maximum within sequences: each one is lifted above all before it.
    lift = 100.0 * sets.of
    ceiling = np.maximum.accumulate(np.where(warm, -50.0, sets.log_load) + lift) - lift
    lighter = ~warm & (sets.log_load < ceiling - SAME)
    runs = np.flatnonzero(turn)
    length = np.repeat(np.diff(runs, append=len(turn)), np.diff(runs, append=len(turn)))
    shown = sets.log_load + np.log1p((sets.reps - 1) / BEND)
    loss = shown - before(shown)
    more = np.clip(np.log(sets.reps / before(sets.reps)), 0, 1)
    goes_on = (after(sets.log_load) < sets.log_load - 0.07) & ~after(sets.fresh)
    goes_on[-1:] = False
    was_lighter = before(lighter)
    odds = (
        _ONE
        + _LOSS * np.clip(loss, -0.6, 0.1)
        + _MORE_REPS * more
        + _SHALLOW * np.clip(sets.log_load - lower + 0.21, 0, 0.1)
        + _REPEATED * (length > 1)
        + _AFTER_A_ROW * (~was_lighter & (before(length) > 1))
        + _STAIRS * (goes_on | was_lighter)
        + _RESERVE * (sets.rir >= 2)
        + _SPENT * (sets.rir == 0)
        + _REST * (sets.rest_s <= _QUICK_S)
        - _REST * (sets.rest_s >= _RESTED_S)
    )
    judged = lighter & turn & ~sets.fresh & (sets.log_load < lower - SAME)
    return Lighter(lighter=lighter, turn=turn, odds=np.where(judged, np.clip(odds, -9, 9), np.nan))


def opens_pause(reps: np.ndarray, reps_before: np.ndarray, rir: np.ndarray, rest_s: np.ndarray) -> np.ndarray:
    """Flags of sets that a rest-pause may begin with, if the load is that of the set before."""
    few = (reps <= _PAUSE_SHARE * reps_before) & (reps_before >= _PAUSE_FROM) & ~(rir >= 1)
    quick = (rest_s <= _QUICK_S) & (reps < reps_before)
    return np.where(np.isnan(rest_s), few, quick)


def pauses(sets: Sequences, warm: np.ndarray, turn: np.ndarray) -> np.ndarray:
    """Flags of rest-pause sets: the same load again after a few breaths, so with far fewer repetitions."""
    again = ~turn & ~warm
    reps_before = before(sets.reps)
    starts = again & opens_pause(sets.reps, reps_before, sets.rir, sets.rest_s)
    last = np.maximum.accumulate(np.where(starts, np.arange(len(turn)), -1))
    run = np.cumsum(turn)
    same_run = (last >= 0) & (run[last] == run)
    head = np.where(same_run, reps_before[last], 0)
    return starts | (again & (sets.reps <= _PAUSED_SHARE * head) & ~(sets.rest_s >= _RESTED_S))
