"""Inference: roles of a whole log on arrays, block by block so that what is worked on stays in the cache."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from typing import TypeVar

import numpy as np

from analytics.intake.table.role_rules import (
    SAME,
    Sequences,
    after,
    before,
    best_strength,
    judge_lighter,
    opens_pause,
    pauses,
    shown_share,
    warm_ups,
)
from analytics.intake.table.turns import over_stretches, turns
from analytics.intake.threads import side_by_side
from analytics.schema import ROLES

LIGHTEST = 0.1
"""Loads in kg below this, or unknown, count as this much."""

_HABIT_LIMIT, _HABIT_SHRINK = 3.0, 1.5
_USUAL_SPAN = 5
"""Earlier days that weigh in what is usual for an athlete and exercise."""
_FADE = 1 - 2 / (_USUAL_SPAN + 1)
_BLOCK = 65_536
_EVEN = np.exp(SAME) - 1e-6
_T = TypeVar("_T")
_WARM_UP, _WORKING, _BACK_OFF, _DROP, _REST_PAUSE = range(len(ROLES))


@dataclass(frozen=True, kw_only=True)
class Log:
    """Sets in training order, arrays of length n.

    `opens`: first set of an exercise of a day.  `told`: code of the logged role, -1 for none.  `side`: 0
    both, 1 left, 2 right, or None.  `load_kg` 0 and `reps` 1 where unknown, `rir` and `rest_s` NaN.  One
    entry per opening: `who`, number of the athlete and exercise, and `athlete`, numbered in order.
    """

    opens: np.ndarray
    who: np.ndarray
    athlete: np.ndarray
    told: np.ndarray
    side: np.ndarray | None
    load_kg: np.ndarray
    reps: np.ndarray
    rir: np.ndarray
    rest_s: np.ndarray


def infer_roles(log: Log) -> tuple[np.ndarray, np.ndarray]:
    """(code of the role, number of the drop chain or 0) of every set; a logged role is kept."""
    if log.side is None:
        return _Work(log, log.opens).roles()
    place = 3 * np.cumsum(log.opens) + log.side
    order = np.argsort(place, kind="stable")
    fresh = np.diff(place[order], prepend=-1) != 0
    # Sorting by side moves rows only within their exercise and day, so those open where they did.
    names = ("told", "load_kg", "reps", "rir", "rest_s")
    parted = replace(log, **{name: getattr(log, name)[order] for name in names})
    role, chain = np.empty(len(order), dtype=np.int8), np.empty(len(order), dtype=np.int32)
    role[order], chain[order] = _Work(parted, fresh).roles()
    return role, chain


@dataclass(frozen=True, slots=True)
class _Block:
    """Neighbouring exercise days `first` to `last`, the `rows` they have, and where each starts in them."""

    first: int
    last: int
    rows: slice
    starts: np.ndarray


class _Work:
    """One log on its way to roles; `fresh`: first set of an exercise, day and side."""

    def __init__(self, log: Log, fresh: np.ndarray) -> None:
        self._log, self._fresh = log, fresh
        self._starts = np.flatnonzero(log.opens)
        days = len(self._starts)
        self._told = log.told if (log.told >= 0).any() else None
        self._top, self._even = np.empty(days), np.empty(days, dtype=bool)
        self._usual = np.empty(days)
        self._marks: np.ndarray | None = None
        self._role = np.full(len(fresh), _WORKING if self._told is None else -1, dtype=np.int8)

    def roles(self) -> tuple[np.ndarray, np.ndarray]:
        """Three steps: strength of each day, what a day says by itself, and the habit of earlier days."""
        self._each(self._measure)
        who = self._log.who
        self._usual = _usual(who, self._top)
        if self._told is not None:
            self._marks = _so_far(self._log.athlete, self._starts, self._told == _WARM_UP)
        judged = list(self._each(self._judge))
        rows, odds = (np.concatenate([part[i] for part in judged]) for i in (0, 1))
        day = np.searchsorted(self._starts, rows, side="right") - 1
        drop = rows[odds + _habit(who, day, odds)[day] > 0]
        self._role[drop] = _DROP
        if self._told is not None:
            np.copyto(self._role, self._told, where=self._told >= 0)
        return self._role, self._chains()

    def _each(self, step: Callable[[_Block], _T]) -> list[_T]:
        """`step` of every block, side by side where there are several."""
        ends = np.append(self._starts, len(self._fresh))
        cuts = np.unique(np.searchsorted(self._starts, np.arange(0, len(self._fresh), _BLOCK)))
        inner = cuts[cuts < len(self._starts)].tolist()
        blocks = [
            _Block(a, b, slice(int(ends[a]), int(ends[b])), self._starts[a:b] - ends[a])
            for a, b in pairwise([*inner, len(self._starts)])
        ]
        return side_by_side([partial(step, block) for block in blocks], len(self._fresh))

    def _measure(self, block: _Block) -> None:
        """The best strength of each day; and days that are `even`: one load throughout, no pause, no role."""
        at, log = block.rows, self._log
        load, rir, rest_s = np.maximum(log.load_kg[at], LIGHTEST), log.rir[at], log.rest_s[at]
        reps = np.maximum(log.reps[at], 1).astype(float)
        best = np.log(over_stretches(np.maximum, load * shown_share(reps, rir), block.starts))
        most, least = (over_stretches(extreme, load, block.starts) for extreme in (np.maximum, np.minimum))
        paused = opens_pause(reps, before(reps), rir, rest_s) & ~self._fresh[at]
        if self._told is not None:
            paused |= self._told[at] >= 0
        self._top[block.first : block.last] = best
        even = most < _EVEN * least
        if paused.any():
            even &= ~np.logical_or.reduceat(paused, block.starts)
        self._even[block.first : block.last] = even

    def _judge(self, block: _Block) -> tuple[np.ndarray, np.ndarray]:
        """(rows, log odds) of the sets that may be drops; the other roles of the block are settled.

        An even day has working sets only, so nothing is worked out for it.
        """
        uneven = ~self._even[block.first : block.last]
        at, log = block.rows, self._log
        sizes = np.diff(block.starts, append=at.stop - at.start)
        rows = at.start + np.flatnonzero(np.repeat(uneven, sizes))
        if self._told is not None:
            self._role[at] = _WORKING
        if not len(rows):
            return rows, np.empty(0)
        reps, rir = np.maximum(log.reps[rows], 1).astype(float), log.rir[rows]
        load = np.log(np.maximum(log.load_kg[rows], LIGHTEST))
        told = np.full(len(rows), -1, dtype=np.int8) if self._told is None else self._told[rows]
        sets = Sequences(
            fresh=self._fresh[rows],
            log_load=load,
            reps=reps,
            rir=rir,
            rest_s=log.rest_s[rows],
            best=best_strength(load, reps, rir),
            told_warm=told == _WARM_UP,
            told_other=told > _WARM_UP,
            usual=np.repeat(self._usual[block.first : block.last][uneven], sizes[uneven]),
            marks=np.zeros(len(rows), dtype=bool) if self._marks is None else self._marks[rows],
        )
        warm = warm_ups(sets)
        found = judge_lighter(sets, warm)
        role = np.full(len(rows), _WORKING, dtype=np.int8)
        role[found.lighter] = _BACK_OFF
        role[pauses(sets, warm, found.turn)] = _REST_PAUSE
        role[warm] = _WARM_UP
        self._role[rows] = role
        judged = np.flatnonzero(~np.isnan(found.odds))
        return rows[judged], found.odds[judged]

    def _chains(self) -> np.ndarray:
        """Number of the drop chain in its sequence, 0 outside chains.  The set before a drop is its head."""
        drop = self._role == _DROP
        chain = np.zeros(len(drop), dtype=np.int32)
        if not drop.any():
            return chain
        starts = np.flatnonzero(self._fresh)
        sizes = np.diff(starts, append=len(drop))
        some = np.zeros(len(starts), dtype=bool)
        some[np.searchsorted(starts, np.flatnonzero(drop), side="right") - 1] = True
        rows = np.flatnonzero(np.repeat(some, sizes))
        sizes = sizes[some]
        drop, fresh = drop[rows], self._fresh[rows]
        leads = after(drop) & ~after(fresh)
        leads[-1:] = False
        head = (~drop & leads) | (drop & fresh)
        count = np.cumsum(head)
        number = count - np.repeat((count - head)[np.cumsum(sizes) - sizes], sizes)
        chain[rows] = np.where(head | drop, number, 0)
        return chain


def _so_far(athlete: np.ndarray, starts: np.ndarray, flags: np.ndarray) -> np.ndarray | None:
    """Whether one of `flags` (one a row) was set up to here for the athlete; None where none is set."""
    if not flags.any():
        return None
    opens = starts[np.flatnonzero(np.diff(athlete, prepend=-1))]
    count = np.cumsum(flags)
    before = np.repeat((count - flags)[opens], np.diff(opens, append=len(flags)))
    return count > before


def _usual(who: np.ndarray, best: np.ndarray) -> np.ndarray:
    """Mean best log strength of earlier days of the athlete and exercise, the last ones weighing most.

    Exponential weights of span `_USUAL_SPAN`; NaN on the first day.
    """
    usual, mean, weight = np.full(len(best), np.nan), np.empty(0), 0.0
    for at in turns(who):
        if weight:
            mean = mean[: len(at)]
            usual[at] = mean
        else:
            mean = best[at]
        mean = (weight * mean + best[at]) / (weight + 1)
        weight = (weight + 1) * _FADE
    return usual


def _habit(who: np.ndarray, day: np.ndarray, odds: np.ndarray) -> np.ndarray:
    """Mean log odds of a drop on earlier days of the athlete and exercise, shrunk towards 0; one a day.

    `odds` are those of single sets, and `day` their days, in order.
    """
    habit = np.zeros(len(who))
    if not len(day):
        return habit
    first = np.flatnonzero(np.diff(day, prepend=-1))
    sizes = np.diff(first, append=len(day))
    mean = np.add.reduceat(np.clip(odds, -_HABIT_LIMIT, _HABIT_LIMIT), first) / sizes
    seen, told = day[first], np.zeros(1 + who.max())
    for earlier, at in enumerate(turns(who[seen])):
        habit[seen[at]] = told[who[seen[at]]] / (earlier + _HABIT_SHRINK)
        told[who[seen[at]]] += mean[at]
    return habit
