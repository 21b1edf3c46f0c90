"""Pool: the exercises that invented athletes train, as arrays over the pool."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

GROUPS = ("legs", "push", "pull")
KINDS = ("barbell", "dumbbell", "machine", "cable", "bodyweight")

# id, family, kind, group, compound, one-sided, core rank, 1RM per kg bodyweight, prime movers, assisting
_ROWS: tuple[tuple[str, str, str, str, bool, bool, int, float, str, str], ...] = (
    ("back_squat", "squat", "barbell", "legs", True, False, 1, 1.55, "quads glutes", "adductors erectors"),
    ("front_squat", "squat", "barbell", "legs", True, False, 3, 1.25, "quads", "glutes adductors erectors"),
    ("hack_squat", "squat", "machine", "legs", True, False, 2, 1.7, "quads", "glutes adductors"),
    ("leg_press", "leg_press", "machine", "legs", True, False, 2, 3.0, "quads", "glutes adductors"),
    ("deadlift", "hinge", "barbell", "legs", True, False, 2, 1.9, "glutes erectors hamstrings", "upper_back"),
    (
        "romanian_deadlift",
        "hinge",
        "barbell",
        "legs",
        True,
        False,
        1,
        1.4,
        "hamstrings glutes",
        "erectors forearms",
    ),
    ("leg_extension", "knee_extension", "machine", "legs", False, False, 4, 1.0, "quads", ""),
    ("seated_leg_curl", "leg_curl", "machine", "legs", False, False, 3, 0.8, "hamstrings", ""),
    ("lying_leg_curl", "leg_curl", "machine", "legs", False, False, 3, 0.65, "hamstrings", ""),
    ("standing_calf_raise", "calf_raise", "machine", "legs", False, False, 3, 1.8, "calves", ""),
    ("seated_calf_raise", "calf_raise", "machine", "legs", False, False, 4, 1.0, "calves", ""),
    ("hip_thrust", "hip_thrust", "barbell", "legs", True, False, 4, 1.9, "glutes", "hamstrings"),
    (
        "bench_press",
        "horizontal_press",
        "barbell",
        "push",
        True,
        False,
        1,
        1.15,
        "chest",
        "triceps front_delts",
    ),
    (
        "dumbbell_bench_press",
        "horizontal_press",
        "dumbbell",
        "push",
        True,
        False,
        2,
        0.45,
        "chest",
        "triceps front_delts",
    ),
    (
        "machine_chest_press",
        "horizontal_press",
        "machine",
        "push",
        True,
        False,
        3,
        1.1,
        "chest",
        "triceps front_delts",
    ),
    (
        "overhead_press",
        "vertical_press",
        "barbell",
        "push",
        True,
        False,
        2,
        0.72,
        "front_delts",
        "triceps side_delts",
    ),
    ("cable_fly", "fly", "cable", "push", False, False, 4, 0.3, "chest", "front_delts"),
    (
        "lateral_raise",
        "lateral_raise",
        "dumbbell",
        "push",
        False,
        False,
        3,
        0.17,
        "side_delts",
        "upper_traps",
    ),
    ("triceps_pushdown", "triceps_extension", "cable", "push", False, False, 3, 0.5, "triceps", ""),
    ("overhead_triceps_extension", "triceps_extension", "cable", "push", False, False, 4, 0.4, "triceps", ""),
    ("lat_pulldown", "vertical_pull", "machine", "pull", True, False, 1, 0.95, "lats", "biceps upper_back"),
    (
        "pull_up",
        "vertical_pull",
        "bodyweight",
        "pull",
        True,
        False,
        2,
        1.3,
        "lats",
        "biceps upper_back forearms",
    ),
    (
        "barbell_row",
        "horizontal_row",
        "barbell",
        "pull",
        True,
        False,
        2,
        1.0,
        "lats upper_back",
        "biceps rear_delts erectors",
    ),
    (
        "seated_cable_row",
        "horizontal_row",
        "machine",
        "pull",
        True,
        False,
        1,
        1.0,
        "upper_back lats",
        "biceps rear_delts",
    ),
    (
        "dumbbell_row",
        "horizontal_row",
        "dumbbell",
        "pull",
        True,
        True,
        3,
        0.55,
        "lats upper_back",
        "biceps rear_delts",
    ),
    ("barbell_curl", "curl", "barbell", "pull", False, False, 3, 0.55, "biceps", "forearms"),
    ("dumbbell_curl", "curl", "dumbbell", "pull", False, True, 3, 0.24, "biceps", "forearms"),
    ("reverse_fly", "reverse_fly", "machine", "pull", False, False, 4, 0.5, "rear_delts", "upper_back"),
)


@dataclass(frozen=True, kw_only=True)
class Pool:
    """Arrays over the pool (length P); `family` holds indices into `families`, `members` families to pool."""

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
    """The pool, built once."""
    families = tuple(sorted({row[1] for row in _ROWS}))
    return Pool(
        exercise=tuple(row[0] for row in _ROWS),
        name=tuple(row[0].replace("_", " ").capitalize() for row in _ROWS),
        families=families,
        family=np.array([families.index(row[1]) for row in _ROWS]),
        kind=np.array([KINDS.index(row[2]) for row in _ROWS]),
        group=np.array([GROUPS.index(row[3]) for row in _ROWS]),
        compound=np.array([row[4] for row in _ROWS]),
        one_sided=np.array([row[5] for row in _ROWS]),
        core=np.array([row[6] for row in _ROWS]),
        ratio=np.array([row[7] for row in _ROWS]),
        prime=tuple(tuple(row[8].split()) for row in _ROWS),
        assisting=tuple(tuple(row[9].split()) for row in _ROWS),
    )
