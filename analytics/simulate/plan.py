"""Plan: traits, lifts, split and calendar of a batch of invented athletes, as arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analytics.simulate.breaks import draw_breaks, weeks_since
from analytics.simulate.draws import LIFTS, Draws
from analytics.simulate.lifts import choose, muscle_fates, supersets, swaps
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
    exercise, active = choose(draws.u_pool, np.minimum(lifts, LIFTS), pool)
    group = pool.group[exercise]
    split = np.digitize(u[:, 1], (0.12, 0.5, 0.7))
    day_of_group = np.array([s[0] for s in SPLITS])[split]
    visits = np.array([s[1] for s in SPLITS])[split]
    day = np.take_along_axis(day_of_group, group, axis=1)
    frequency = np.broadcast_to(visits[:, None], exercise.shape).copy()
    frequency[(frequency == 2) & ~pool.compound[exercise] & (draws.u_lift[:, :, 0] < 0.35)] = 1
    low_slope, high_slope = world.slope_pct_per_week
    base_slope = low_slope * (high_slope / low_slope) ** u[:, 2] / 100

    neglected, non_responding, factor = muscle_fates(u, exercise, active, pool, world)
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
    superset = supersets(draws.u_lift[:, :, 6] < world.superset_share, active, day)

    cut = u[:, 3] < world.cut_share
    length = world.cut_weeks[0] + np.floor(u[:, 4] * (world.cut_weeks[1] - world.cut_weeks[0] + 1)).astype(
        int
    )
    to_the_end = u[:, 5] < 0.7
    start = np.where(to_the_end, weeks - length, np.floor(u[:, 6] * np.maximum(weeks - length, 1)))
    start = np.where(cut, np.maximum(start, 0), weeks).astype(int)
    off, deload, travel = draw_breaks(draws, world, start + length, cut & ~to_the_end)
    in_block = weeks_since(deload | off)

    swap_week, exercise_after = swaps(draws, world, pool, exercise, active)
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


def _pick(u: np.ndarray, shares: list[float] | None, world: World | None = None) -> np.ndarray:
    if shares is not None:
        edges = np.cumsum([1 - sum(shares), *shares[:-1]])
        return np.digitize(u, edges)
    assert world is not None
    double, undulating = world.double_progression_share, world.undulating_share
    return np.digitize(u, (double, double + undulating))
