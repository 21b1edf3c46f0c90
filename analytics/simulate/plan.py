"""Plan: traits, lifts, split and calendar of a batch of invented athletes, as arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analytics.simulate.draws import LIFTS, Draws
from analytics.simulate.pool import Pool
from analytics.simulate.world import World

# (days of the week per group legs, push, pull; visits a week), Monday = 0
SPLITS = (
    ((0, 0, 0), 2),
    ((0, 1, 1), 2),
    ((4, 0, 2), 1),
    ((2, 0, 1), 2),
)
SCHEMES = ("straight", "pyramid", "back_off", "drop", "rest_pause", "pump")
PROGRESSIONS = ("double", "undulating", "fixed_reps")


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Arrays over athletes (A), athletes and weeks (AW), or athletes and lift slots (AL)."""

    # A
    pounds: np.ndarray
    bodyweight_kg: np.ndarray
    base_slope: np.ndarray
    noise_scale: np.ndarray
    curve: np.ndarray
    logs_rir: np.ndarray
    rir_bias: np.ndarray
    logs_warm_ups: np.ndarray
    logs_rest: np.ndarray
    logs_sides: np.ndarray
    target_rir: np.ndarray
    ramps_rir: np.ndarray
    cut_start: np.ndarray
    cut_end: np.ndarray
    neglected: list[str | None]
    non_responding: list[str | None]
    # AW
    off: np.ndarray
    deload: np.ndarray
    travel: np.ndarray
    weeks_in_block: np.ndarray
    # AL
    active: np.ndarray
    exercise: np.ndarray
    exercise_after: np.ndarray
    swap_week: np.ndarray
    frequency: np.ndarray
    day: np.ndarray
    scheme: np.ndarray
    progression: np.ndarray
    working_sets: np.ndarray
    reps_low: np.ndarray
    reps_high: np.ndarray
    superset: np.ndarray
    slope_factor: np.ndarray


def make_plan(draws: Draws, world: World, pool: Pool) -> Plan:
    """The plan of every athlete of the batch."""
    u, z = draws.u_trait, draws.z_trait
    count, weeks = u.shape[0], draws.u_week.shape[1]
    lifts = world.lifts[0] + np.floor(u[:, 0] * (world.lifts[1] - world.lifts[0] + 1)).astype(int)
    exercise, active = _choose(draws.u_pool, np.minimum(lifts, LIFTS), pool)
    group = pool.group[exercise]
    split = np.digitize(u[:, 1], (0.12, 0.5, 0.7))
    day_of_group = np.array([s[0] for s in SPLITS])[split]
    visits = np.array([s[1] for s in SPLITS])[split]
    day = np.take_along_axis(day_of_group, group, axis=1)
    frequency = np.broadcast_to(visits[:, None], exercise.shape).copy()
    frequency[(frequency == 2) & ~pool.compound[exercise] & (draws.u_lift[:, :, 0] < 0.35)] = 1
    low_slope, high_slope = world.slope_pct_per_week
    base_slope = low_slope * (high_slope / low_slope) ** u[:, 2] / 100

    neglected, non_responding, factor = _muscle_fates(u, exercise, active, pool, world)
    ignored = np.array(
        [
            [n is not None and n in pool.prime[e] for e in row]
            for n, row in zip(neglected, exercise, strict=True)
        ]
    )
    frequency[ignored] = 1
    scheme = _pick(
        draws.u_lift[:, :, 1],
        [
            world.pyramid_share,
            world.back_off_share,
            world.drop_share,
            world.rest_pause_share,
            world.pump_share,
        ],
    )
    heavy = pool.compound[exercise]
    scheme[(scheme == SCHEMES.index("pump")) & heavy] = 0
    working_sets = 2 + np.floor(draws.u_lift[:, :, 2] * 3).astype(int)
    working_sets[scheme == SCHEMES.index("pyramid")] += 1
    working_sets[ignored] = 1 + (draws.u_lift[:, :, 2] > 0.6)[ignored]
    scheme[ignored] = 0
    progression = _pick(draws.u_lift[:, :, 3], None, world)
    low = np.where(heavy, 4, 8) + np.floor(draws.u_lift[:, :, 4] * np.where(heavy, 5, 5)).astype(int)
    high = low + 2 + np.floor(draws.u_lift[:, :, 5] * 4).astype(int)
    superset = _supersets(draws.u_lift[:, :, 6] < world.superset_share, active, day)

    cut = u[:, 3] < world.cut_share
    length = world.cut_weeks[0] + np.floor(u[:, 4] * (world.cut_weeks[1] - world.cut_weeks[0] + 1)).astype(
        int
    )
    to_the_end = u[:, 5] < 0.7
    start = np.where(to_the_end, weeks - length, np.floor(u[:, 6] * np.maximum(weeks - length, 1)))
    start = np.where(cut, np.maximum(start, 0), weeks).astype(int)
    off, deload, travel = _calendar(draws, world, start + length, cut & ~to_the_end)
    in_block = _since_last(deload | off)

    swap_week, exercise_after = _swaps(draws, world, pool, exercise, active)
    slope_factor = factor * np.exp(world.slope_spread * draws.z_lift[:, :, 0] - world.slope_spread**2 / 2)
    male = u[:, 7] < 0.6
    return Plan(
        pounds=u[:, 8] < world.pounds_share,
        bodyweight_kg=np.where(male, 84, 66) * np.exp(0.12 * z[:, 0]),
        base_slope=base_slope,
        noise_scale=np.exp(world.noise_spread * z[:, 1] - world.noise_spread**2 / 2),
        curve=np.exp(world.curve_spread * z[:, 2]),
        logs_rir=u[:, 9] < world.rir_logging_share,
        rir_bias=world.rir_bias + 0.5 * z[:, 3],
        logs_warm_ups=u[:, 10] < world.warm_ups_logged_share,
        logs_rest=u[:, 11] < world.rest_logged_share,
        logs_sides=u[:, 12] < world.sides_logged_share,
        target_rir=world.target_rir[0] + u[:, 13] * (world.target_rir[1] - world.target_rir[0]),
        ramps_rir=u[:, 14] < world.rir_ramp_share,
        cut_start=start,
        cut_end=np.where(cut, np.minimum(start + length, weeks), weeks).astype(int),
        neglected=neglected,
        non_responding=non_responding,
        off=off,
        deload=deload,
        travel=travel,
        weeks_in_block=in_block,
        active=active,
        exercise=exercise,
        exercise_after=exercise_after,
        swap_week=swap_week,
        frequency=frequency,
        day=day,
        scheme=scheme,
        progression=progression,
        working_sets=working_sets,
        reps_low=low,
        reps_high=high,
        superset=superset,
        slope_factor=slope_factor * 1.0 + np.zeros((count, LIFTS)),
    )


def _choose(u_pool: np.ndarray, lifts: np.ndarray, pool: Pool) -> tuple[np.ndarray, np.ndarray]:
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


def _muscle_fates(
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


def _pick(u: np.ndarray, shares: list[float] | None, world: World | None = None) -> np.ndarray:
    if shares is not None:
        edges = np.cumsum([1 - sum(shares), *shares[:-1]])
        return np.digitize(u, edges)
    assert world is not None
    double, undulating = world.double_progression_share, world.undulating_share
    return np.digitize(u, (double, double + undulating))


def _supersets(wish: np.ndarray, active: np.ndarray, day: np.ndarray) -> np.ndarray:
    """0 none, 1 first of a pair, 2 second: a slot pairs with the next one of the same day."""
    pair = np.zeros(wish.shape, dtype=int)
    for slot in range(LIFTS - 1):
        can = wish[:, slot] & active[:, slot + 1] & (day[:, slot] == day[:, slot + 1]) & (pair[:, slot] == 0)
        pair[can, slot], pair[can, slot + 1] = 1, 2
    return pair


def _calendar(
    draws: Draws, world: World, show_week: np.ndarray, has_show: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Weeks off, deload weeks and weeks in another gym, per athlete and week."""
    u, weeks = draws.u_trait, draws.u_week.shape[1]
    count, week = u.shape[0], np.arange(weeks)[None, :]
    gap = np.clip(
        np.round(world.deload_every_weeks[0] + world.deload_every_weeks[1] * draws.z_week[:, :, 0]), 3, 12
    )
    due = np.cumsum(gap, axis=1).astype(int)
    deload = np.zeros((count, weeks + 1), dtype=bool)
    np.put_along_axis(deload, np.minimum(due, weeks), True, axis=1)
    deload = deload[:, :weeks] & (u[:, 19] < world.deload_share)[:, None]
    off = np.zeros((count, weeks), dtype=bool)
    travel = np.zeros((count, weeks), dtype=bool)
    for k in range(2):
        happens = draws.u_week[:, k, 0] < world.layoffs_per_year * weeks / 52 / 2
        start = 2 + np.floor(draws.u_week[:, k, 1] * (weeks - 3)).astype(int)
        span = world.layoff_weeks[0] + np.floor(
            draws.u_week[:, k, 2] * (world.layoff_weeks[1] - world.layoff_weeks[0] + 1)
        ).astype(int)
        off |= happens[:, None] & (week >= start[:, None]) & (week < (start + span)[:, None])
    off |= has_show[:, None] & (week == show_week[:, None])
    for k in range(2, 5):
        happens = draws.u_week[:, k, 0] < world.travel_per_year * weeks / 52 / 3
        start = 2 + np.floor(draws.u_week[:, k, 1] * (weeks - 3)).astype(int)
        span = 1 + (draws.u_week[:, k, 2] < 0.4)
        travel |= happens[:, None] & (week >= start[:, None]) & (week < (start + span)[:, None])
    return off, deload & ~off, travel & ~off


def _since_last(mark: np.ndarray) -> np.ndarray:
    """Weeks since the last marked week (0 in a marked week)."""
    result = np.zeros(mark.shape, dtype=int)
    run = np.zeros(mark.shape[0], dtype=int)
    for w in range(mark.shape[1]):
        run = np.where(mark[:, w], 0, run + 1)
        result[:, w] = run
    return result


def _swaps(
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
