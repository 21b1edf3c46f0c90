"""Pool: the catalogue exercises that invented athletes train, as arrays over the pool."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from analytics.catalogue import load_catalogue

GROUPS = ("legs", "push", "pull")
KINDS = ("barbell", "dumbbell", "machine", "cable", "bodyweight")

# exercise: (group of the split, rank of choice 1 to 4, one-rep maximum over bodyweight of a trained lifter)
_POOL: dict[str, tuple[str, int, float]] = {
    "back_squat": ("legs", 1, 1.55),
    "front_squat": ("legs", 3, 1.25),
    "hack_squat": ("legs", 2, 1.6),
    "smith_squat": ("legs", 4, 1.45),
    "leg_press": ("legs", 2, 3.0),
    "horizontal_leg_press": ("legs", 3, 2.4),
    "bulgarian_split_squat": ("legs", 4, 0.32),
    "deadlift": ("legs", 2, 1.9),
    "romanian_deadlift": ("legs", 1, 1.45),
    "stiff_leg_deadlift": ("legs", 4, 1.35),
    "hip_thrust": ("legs", 4, 1.9),
    "leg_extension": ("legs", 3, 1.0),
    "single_leg_extension": ("legs", 4, 0.5),
    "seated_leg_curl": ("legs", 3, 0.8),
    "lying_leg_curl": ("legs", 3, 0.65),
    "standing_calf_raise": ("legs", 3, 1.8),
    "leg_press_calf_raise": ("legs", 4, 2.0),
    "seated_calf_raise": ("legs", 4, 1.0),
    "bench_press": ("push", 1, 1.15),
    "dumbbell_bench_press": ("push", 2, 0.45),
    "machine_chest_press": ("push", 3, 1.1),
    "incline_bench_press": ("push", 3, 0.95),
    "incline_dumbbell_press": ("push", 3, 0.4),
    "machine_incline_press": ("push", 4, 0.9),
    "overhead_press": ("push", 2, 0.72),
    "dumbbell_shoulder_press": ("push", 2, 0.33),
    "machine_shoulder_press": ("push", 3, 0.8),
    "dip": ("push", 4, 1.5),
    "cable_fly": ("push", 4, 0.3),
    "pec_deck": ("push", 4, 0.85),
    "lateral_raise": ("push", 3, 0.17),
    "cable_lateral_raise": ("push", 4, 0.14),
    "triceps_pushdown": ("push", 3, 0.5),
    "cable_overhead_triceps_extension": ("push", 4, 0.42),
    "lying_triceps_extension": ("push", 4, 0.5),
    "lat_pulldown": ("pull", 1, 0.95),
    "close_grip_lat_pulldown": ("pull", 3, 0.97),
    "pull_up": ("pull", 2, 1.32),
    "chin_up": ("pull", 3, 1.36),
    "barbell_row": ("pull", 2, 1.0),
    "seated_cable_row": ("pull", 1, 1.0),
    "machine_row": ("pull", 3, 1.05),
    "dumbbell_row": ("pull", 3, 0.55),
    "barbell_curl": ("pull", 3, 0.55),
    "dumbbell_curl": ("pull", 3, 0.24),
    "hammer_curl": ("pull", 4, 0.27),
    "dumbbell_preacher_curl": ("pull", 4, 0.2),
    "cable_curl": ("pull", 4, 0.5),
    "reverse_pec_deck": ("pull", 4, 0.55),
    "cable_reverse_fly": ("pull", 4, 0.16),
}


@dataclass(frozen=True, kw_only=True)
class Pool:
    """Arrays over the pool (length P); `family` holds indices into `families`."""

    exercise: tuple[str, ...]
    name: tuple[str, ...]
    families: tuple[str, ...]
    family: np.ndarray
    kind: np.ndarray
    group: np.ndarray
    compound: np.ndarray
    one_sided: np.ndarray
    core: np.ndarray
    ratio: np.ndarray
    prime: tuple[tuple[str, ...], ...]
    assisting: tuple[tuple[str, ...], ...]


@cache
def pool() -> Pool:
    """The pool, built once: families, equipment and muscles from the catalogue."""
    known = load_catalogue().exercises
    lifts = [known[exercise] for exercise in _POOL]
    families = tuple(sorted({lift.family for lift in lifts}))
    kinds = ["machine" if lift.equipment == "guided_barbell" else lift.equipment for lift in lifts]
    return Pool(
        exercise=tuple(_POOL),
        name=tuple(lift.name for lift in lifts),
        families=families,
        family=np.array([families.index(lift.family) for lift in lifts]),
        kind=np.array([KINDS.index(kind) for kind in kinds]),
        group=np.array([GROUPS.index(group) for group, _, _ in _POOL.values()]),
        compound=np.array([lift.kind == "compound" for lift in lifts]),
        one_sided=np.array([lift.one_sided for lift in lifts]),
        core=np.array([core for _, core, _ in _POOL.values()]),
        ratio=np.array([ratio for _, _, ratio in _POOL.values()]),
        prime=tuple(lift.direct for lift in lifts),
        assisting=tuple(lift.assisting for lift in lifts),
    )
