"""States: enough work or not, response or not, from sets and probabilities, on arrays.

Thresholds that no source gives are our choice and say so.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.muscles.mixed import Array

FLOOR_SETS = 4.0
"""Fractional sets a week below which no growth was detected: Pelland et al. 2025, Sports Med (from memory).
Used only where the coach gave no aim."""
SHORT_SHARE, OVER_SHARE = 0.9, 1.1
"""Within a tenth of the aim counts as meeting it (our choice: a missed set is not a plan)."""
JUMP = 1.5
"""Half as many sets again as in the eight weeks before is sharply up (common practice, no source)."""
GAIN_PCT_PER_WEEK = 0.06
"""Least slope that is called a response: what professional rugby players gained over two years, 0.06-0.11 %
a week (Appleby et al. 2012, JSCR)."""
PACE = 0.5
"""Share of the pace of the athlete's other groups that a response has to keep (our choice): a gain of 0.1 % a
week is fine for the advanced, and no answer to the work where all else gains 0.6 %."""
HOLD_MARGIN_PCT_PER_WEEK = 0.1
"""In a cut, falling by less than this beyond what bodyweight explains counts as holding (our choice)."""
FORCE_EXPONENT = 0.67
"""Force scales with bodyweight to this power: Jaric 2002, Sports Med 32:615."""
LIKELY, CLEAR = 0.6, 0.8
"""A state needs 0.6, as for lifts; overruling the sets, or calling a fall, needs 0.8 (our choice)."""
RIR_RISE = 0.5
"""More reps in reserve than before by this much: the sets got easier, so a fall is no overreaching."""


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One way of counting, all arrays of one length; NaN where unknown.

    `sets`, `earlier`: sets a week now and in the eight weeks before; `need`: aim low or the floor; `judged`:
    whether the sets are judged at all; `lifts`: lifts with the group as prime mover; `rir_change`: now minus
    before; `p_kept`, `p_fall`: probability of a response, and of a fall.
    """

    sets: Array
    earlier: Array
    need: Array
    aim_high: Array
    judged: NDArray[np.bool_]
    lifts: Array
    rir_change: Array
    p_kept: Array
    p_fall: Array


def judge_states(reading: Reading) -> list[str]:
    """State of each group under one reading of the sets.

    `overreaching`: more sets than the aim, or sharply more than before, while its lifts fall beyond noise and
    reps in reserve have not risen: work goes up and performance comes down (Meeusen et al. 2013, MSSE 45:186,
    from memory).  `underdosed`: fewer sets than the aim (without one, than the published floor), unless the
    response is clear all the same.  `responding`, `not_responding`: the response is likely there, or likely
    not.  A group without a lift of its own has no response to judge.
    """
    with np.errstate(invalid="ignore"):
        over = (reading.sets > OVER_SHARE * reading.aim_high) | (
            (reading.sets > JUMP * reading.earlier) & (reading.sets >= reading.need)
        )
        easier = reading.rir_change >= RIR_RISE
        short = reading.judged & (reading.sets < SHORT_SHARE * reading.need)
    own = reading.lifts > 0
    conditions = [
        own & over & (reading.p_fall >= CLEAR) & ~easier,
        short & ~(own & (reading.p_kept >= CLEAR)),
        own & (reading.p_kept >= LIKELY),
        own & (reading.p_kept <= 1 - LIKELY),
    ]
    names = ["overreaching", "underdosed", "responding", "not_responding"]
    return [str(state) for state in np.select(conditions, names, default="unsure")]


def expected_loss(losing: NDArray[np.bool_], weight_pct_per_week: Array) -> Array:
    """Strength slope that a falling bodyweight explains in a cut or peak, % a week (0 otherwise)."""
    return np.where(losing, FORCE_EXPONENT * np.minimum(weight_pct_per_week, 0.0), 0.0)


def kept_limit(losing: NDArray[np.bool_], weight_pct_per_week: Array, others_pct_per_week: Array) -> Array:
    """Slope above which a group responds, % a week.

    Half the pace of the athlete's other groups and at least a small gain; in a cut or peak, no more loss than
    bodyweight explains.
    """
    kept = expected_loss(losing, weight_pct_per_week) - HOLD_MARGIN_PCT_PER_WEEK
    return np.where(losing, kept, np.maximum(GAIN_PCT_PER_WEEK, PACE * others_pct_per_week))
