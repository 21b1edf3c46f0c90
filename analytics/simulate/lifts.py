"""Lifts: the exercises each invented athlete trains, their pairs and swaps, and the fate of a muscle."""

from __future__ import annotations

import numpy as np

from analytics.simulate.draws import LIFTS, Draws
from analytics.simulate.pool import Pool
from analytics.simulate.world import World


def choose(u_pool: np.ndarray, lifts: np.ndarray, pool: Pool) -> tuple[np.ndarray, np.ndarray]:
    """Exercise index per slot: the best of each family, core ones first, in the order of a training week."""
    wanted = u_pool + 0.35 * (4 - pool.core)
    best = np.full((u_pool.shape[0], len(pool.families)), -1)
    score = np.full(best.shape, -np.inf)
    for f in range(len(pool.families)):
        members = np.flatnonzero(pool.family == f)
        local = wanted[:, members]
        at = local.argmax(axis=1)
        best[:, f] = members[at]
        score[:, f] = local[np.arange(len(local)), at]
    order = np.argsort(-score, axis=1, kind="stable")[:, :LIFTS]
    exercise = np.take_along_axis(best, order, axis=1)
    active = np.arange(LIFTS)[None, :] < lifts[:, None]
    rank = np.where(
        active, pool.group[exercise] * 10.0 - pool.compound[exercise] * 5 + pool.core[exercise], 1e9
    )
    rank = np.argsort(rank, axis=1, kind="stable")
    return np.take_along_axis(exercise, rank, axis=1), np.take_along_axis(active, rank, axis=1)


def muscle_fates(
    u: np.ndarray, exercise: np.ndarray, active: np.ndarray, pool: Pool, world: World
) -> tuple[list[str | None], list[str | None], np.ndarray]:
    """The neglected and the non-responding muscle of each athlete, and the factor on each lift's slope."""
    neglected: list[str | None] = []
    stubborn: list[str | None] = []
    factor = np.ones(exercise.shape)
    for a in range(len(u)):
        firsts = sorted({pool.prime[e][0] for e, on in zip(exercise[a], active[a], strict=True) if on})
        lag = firsts[int(u[a, 16] * len(firsts))] if u[a, 15] < world.neglected_share else None
        rest = [m for m in firsts if m != lag]
        deaf = rest[int(u[a, 18] * len(rest))] if rest and u[a, 17] < world.non_response_share else None
        for slot, e in enumerate(exercise[a]):
            if lag is not None and pool.prime[e][0] == lag:
                factor[a, slot] = 0.15
            if deaf is not None and pool.prime[e][0] == deaf:
                factor[a, slot] = 0.0
        neglected.append(lag)
        stubborn.append(deaf)
    return neglected, stubborn, factor


def supersets(wish: np.ndarray, active: np.ndarray, day: np.ndarray) -> np.ndarray:
    """0 none, 1 first of a pair, 2 second: a slot pairs with the next one of the same day."""
    pair = np.zeros(wish.shape, dtype=int)
    for slot in range(LIFTS - 1):
        can = wish[:, slot] & active[:, slot + 1] & (day[:, slot] == day[:, slot + 1]) & (pair[:, slot] == 0)
        pair[can, slot], pair[can, slot + 1] = 1, 2
    return pair


def swaps(
    draws: Draws, world: World, pool: Pool, exercise: np.ndarray, active: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Week of the swap per slot (beyond the end: none) and the exercise after it, of the same family."""
    weeks = draws.u_week.shape[1]
    happens = draws.u_lift[:, :, 7] < 1 - np.exp(-world.swap_per_lift_year * weeks / 52)
    week = 5 + np.floor(draws.u_lift[:, :, 8] * max(weeks - 9, 1)).astype(int)
    after = exercise.copy()
    for f in range(len(pool.families)):
        members = np.flatnonzero(pool.family == f)
        if len(members) < 2:
            continue
        here = active & happens & (pool.family[exercise] == f)
        local = np.searchsorted(members, exercise[here])
        step = 1 + np.floor(draws.u_lift[:, :, 9][here] * (len(members) - 1)).astype(int)
        after[here] = members[(local + step) % len(members)]
    return np.where(after != exercise, week, weeks + 1), after
