"""Draws: the random numbers of a batch of athletes, one generator per athlete, in a fixed layout."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

LIFTS = 12
"""Lift slots per athlete; unused ones are masked."""
VISITS_PER_WEEK = 2
SET_SLOTS = 13
"""Per visit: 4 warm-ups, 5 working sets, 4 sets after them."""


@dataclass(frozen=True, kw_only=True)
class Draws:
    """Uniform (`u_`) and normal (`z_`) numbers; axes: athlete, then lift slot, visit or week, set slot."""

    u_trait: np.ndarray
    z_trait: np.ndarray
    u_pool: np.ndarray
    u_lift: np.ndarray
    z_lift: np.ndarray
    u_week: np.ndarray
    z_week: np.ndarray
    u_day: np.ndarray
    z_day: np.ndarray
    u_visit: np.ndarray
    z_visit: np.ndarray
    u_set: np.ndarray
    z_set: np.ndarray
    z_tape: np.ndarray


def draw(seed: int, athletes: range, weeks: int, pool_size: int) -> Draws:
    """The numbers of these athletes.  Athlete k gets the same ones whoever else is drawn."""
    visits = VISITS_PER_WEEK * weeks
    shapes: dict[str, tuple[int, ...]] = {
        "u_trait": (32,),
        "z_trait": (16,),
        "u_pool": (pool_size,),
        "u_lift": (LIFTS, 24),
        "z_lift": (LIFTS, 8),
        "u_week": (weeks, 8),
        "z_week": (weeks, 4),
        "u_day": (7 * weeks, 2),
        "z_day": (7 * weeks,),
        "u_visit": (LIFTS, visits, 10),
        "z_visit": (LIFTS, visits, 4),
        "u_set": (LIFTS, visits, SET_SLOTS, 2),
        "z_set": (LIFTS, visits, SET_SLOTS, 2),
        "z_tape": (weeks, 8),
    }
    stacks = {name: np.empty((len(athletes), *shape), dtype=np.float32) for name, shape in shapes.items()}
    for row, athlete in enumerate(athletes):
        generator = np.random.default_rng([seed, athlete])
        for name, stack in stacks.items():
            fill = generator.random if name.startswith("u_") else generator.standard_normal
            fill(out=stack[row], dtype=np.float32)
    return Draws(**stacks)
