"""Session estimate: one log-maximum out of all sets of an exercise on a day that can tell, on arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.strength.curve import PERSONAL_SD, log_ratio, log_ratio_per_rep

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

UNLOGGED_RIR, UNLOGGED_RIR_SD = 2.0, 1.5
"""Effort that nobody wrote down: common practice, no source.  The error is shared by all sets of the day."""
REPEATABILITY_REPS = 0.7
"""Repetitions to failure repeat within 0.7 (at 90 %) to 1.1 (at 70 %): Mitter et al. 2022, which includes the
day; what is left between sets of one day is taken at the lower end."""
FATIGUE_PER_SET, MOST_FATIGUE_SETS = 0.015, 4
"""Loss of log-strength per hard set of the exercise already done that day: common practice, no source."""
AFTER_DROP_SD, SUPERSET_SD, FATIGUE_SD = 0.03, 0.02, 0.008
FAR_RIR, FAR_ERROR_REPS, FAR_SHARED_REPS = 5.0, 3.0, 1.0
"""From five repetitions left on, a written number is a lower bound: errors of over two repetitions (Hackett
et al. 2017), mostly the same for all sets of the day, because the day was meant to be easy (common practice,
no source).
"""


@dataclass(frozen=True, kw_only=True)
class HardSets:
    """Sets that can tell strength, sorted by session: all arrays have shape (sets,).

    `session` counts up from 0; `rir` is nan where not logged; `sets_before` counts the sets of this exercise
    done before on that day; `after_drop` and `superset` mark sets done tired.
    """

    session: Ints
    load_kg: Floats
    reps: Floats
    rir: Floats
    sets_before: Floats
    after_drop: NDArray[np.bool_]
    superset: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class SessionEstimate:
    """One value per session; `log_noise` is that part of `log_se` which is drawn anew at every session."""

    log_e1rm: Floats
    log_se: Floats
    log_noise: Floats
    curve_exposure: Floats
    rir_share: Floats


def rir_error_reps(rir: Floats) -> Floats:
    """Standard error in repetitions of a logged RIR: about one up to 5 left, over two at 7-10 (Hackett
    2017).
    """
    return np.where(rir >= FAR_RIR, FAR_ERROR_REPS, 0.3 + 0.25 * rir)


def estimate(sets: HardSets) -> SessionEstimate:
    """Weighted mean over the sets of each session of log load + curve(reps + RIR) + fatigue.

    Weights are inverse variances of what differs between sets of a day.  What they share (effort that nobody
    wrote down, or that was far from failure) does not average out and is added afterwards.  On a
    day with some effort written down, a set without it counts for less by its own error.
    """
    logged = np.isfinite(sets.rir)
    starts = np.flatnonzero(np.diff(sets.session, prepend=-1))
    of_set = np.cumsum(np.diff(sets.session, prepend=-1) != 0) - 1
    written = np.add.reduceat(logged.astype(float), starts)
    partly = (written > 0)[of_set] & ~logged
    to_failure = sets.reps + np.where(logged, sets.rir, UNLOGGED_RIR)
    per_rep = log_ratio_per_rep(to_failure)
    tired = np.minimum(sets.sets_before, MOST_FATIGUE_SETS)
    value = np.log(sets.load_kg) + log_ratio(to_failure) + FATIGUE_PER_SET * tired
    own_reps = REPEATABILITY_REPS**2 + np.where(logged, rir_error_reps(np.where(logged, sets.rir, 0)) ** 2, 0)
    own_reps += np.where(partly, UNLOGGED_RIR_SD**2, 0)
    own = per_rep**2 * own_reps + (FATIGUE_SD * tired) ** 2
    own += np.where(sets.after_drop, AFTER_DROP_SD**2, 0) + np.where(sets.superset, SUPERSET_SD**2, 0)
    weight = 1 / own
    total = np.add.reduceat(weight, starts)

    def mean(values: Floats) -> Floats:
        return np.asarray(np.add.reduceat(weight * values, starts) / total)

    exposure = mean(log_ratio(to_failure))
    share = mean(logged.astype(float))
    shared = (1 - share) * UNLOGGED_RIR_SD * mean(per_rep)
    far = mean((np.where(logged, sets.rir, 0) >= FAR_RIR).astype(float))
    noise = 1 / total + (far * FAR_SHARED_REPS * mean(per_rep)) ** 2
    return SessionEstimate(
        log_e1rm=mean(value),
        log_se=np.sqrt(noise + shared**2 + (PERSONAL_SD * exposure) ** 2),
        log_noise=np.sqrt(noise),
        curve_exposure=exposure,
        rir_share=share,
    )
