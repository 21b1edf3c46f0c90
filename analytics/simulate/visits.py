"""Visits: load, target and outcome of the top working set of every visit, lift by lift through time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analytics.schema import KG_PER_LB
from analytics.simulate.draws import VISITS_PER_WEEK, Draws
from analytics.simulate.latent import Latent
from analytics.simulate.plan import PROGRESSIONS, SCHEMES, Plan
from analytics.simulate.pool import KINDS, Pool
from analytics.simulate.world import World

# smallest step of load per kind of equipment: kilograms, pounds
_STEP_KG = np.array([2.5, 2.0, 5.0, 2.5, 2.5])
_STEP_LB = np.array([5.0, 5.0, 10.0, 5.0, 5.0])


@dataclass(frozen=True, kw_only=True)
class Visits:
    """Arrays AxLxS over visits: `load` in the athlete's unit, `capacity` in log kg on that day, and so on."""

    trained: np.ndarray
    day: np.ndarray
    exercise: np.ndarray
    load: np.ndarray
    step: np.ndarray
    capacity: np.ndarray
    curve: np.ndarray
    stop_at: np.ndarray
    reps_cap: np.ndarray
    top_reps: np.ndarray
    deload: np.ndarray
    travel: np.ndarray
    unit_kg: np.ndarray


def curve(reps: np.ndarray) -> np.ndarray:
    """Log of one-rep maximum over load for `reps` to failure, before the personal factor."""
    return np.log1p((np.maximum(reps, 1e-9) - 1) / 28)


def reps_to_failure(excess: np.ndarray) -> np.ndarray:
    """Inverse of ``curve``: reps (real-valued, below 1 when the load is above the maximum)."""
    return 1 + 28 * np.expm1(np.clip(excess, -0.5, 1.3))


def make_visits(draws: Draws, plan: Plan, latent: Latent, world: World, pool: Pool) -> Visits:
    """Every visit.  Loads follow the athlete's own rule; nobody in this world knows their true strength."""
    count, slots, weeks = latent.slope.shape
    visits = VISITS_PER_WEEK * weeks
    number = np.arange(visits)
    week, second = number // VISITS_PER_WEEK, number % VISITS_PER_WEEK
    day = 7 * week + np.minimum(3 * second + plan.day[:, :, None], 6)
    trained = (
        plan.active[:, :, None]
        & (second[None, None, :] < plan.frequency[:, :, None])
        & ~plan.off[:, week][:, None, :]
        & (draws.u_day[np.arange(count)[:, None, None], day, 0] >= world.missed_session_share)
        & (draws.u_visit[..., 0] >= 0.02)
    )
    swapped = week[None, None, :] >= plan.swap_week[:, :, None]
    exercise = np.where(swapped, plan.exercise_after[:, :, None], plan.exercise[:, :, None])
    kind = pool.kind[exercise]

    into_week = ((day - 7 * week) / 7.0)[:, :, :]
    truth = latent.start[:, :, week] + latent.slope[:, :, week] * into_week - latent.loss[:, None, week]
    truth = truth + swapped * swap_offset(draws, plan, pool)[:, :, None]
    days = np.arange(count)[:, None, None]
    scale = plan.noise_scale[:, None, None]
    capacity = truth + scale * (world.day_sd * draws.z_day[days, day] + world.lift_sd * draws.z_visit[..., 0])
    bad = draws.u_day[days, day, 1] < world.bad_day_share
    capacity = capacity - bad * world.bad_day_loss
    foreign = np.where(kind >= KINDS.index("machine"), 1.0, 0.15) * (kind != KINDS.index("bodyweight"))
    travel = plan.travel[:, week][:, None, :] & np.ones((1, slots, 1), bool)
    capacity = (
        capacity
        + travel * foreign * world.travel_offset_sd * _per_week(draws.z_lift[:, :, 2:3], weeks)[:, :, week]
    )
    capacity = capacity - (plan.superset == 2)[:, :, None] * world.superset_fatigue

    personal = plan.curve[:, None, None] * np.where(pool.group[exercise] == 0, 0.82, 1.0)
    personal = personal * np.exp(0.05 * draws.z_lift[:, :, 3])[:, :, None]
    unit_kg = np.where(plan.pounds, KG_PER_LB, 1.0)
    step = np.where(plan.pounds[:, None, None], _STEP_LB[kind], _STEP_KG[kind])
    light = np.exp(truth) / unit_kg[:, None, None] < 12 * step
    step = np.where(light & (step > 2), step / 2, step)

    deload = plan.deload[:, week][:, None, :] & np.ones((1, slots, 1), bool)
    stop_at = _targets(draws, plan, world, week)
    pump = (plan.scheme == SCHEMES.index("pump"))[:, :, None]
    stop_at = np.where(pump, 3.5 + draws.u_visit[..., 1] * 3, stop_at)
    pre_sets = np.where(plan.scheme == SCHEMES.index("pyramid"), plan.working_sets - 1, 0)
    top_capacity = capacity - world.fatigue_per_set * pre_sets[:, :, None]
    load, reps, cap = _walk(
        draws, plan, top_capacity, truth, personal, step, unit_kg, trained, deload, swapped, stop_at
    )
    return Visits(
        trained=trained,
        day=day,
        exercise=exercise,
        load=load,
        step=step,
        capacity=capacity,
        curve=personal,
        stop_at=stop_at,
        reps_cap=cap,
        top_reps=reps,
        deload=deload,
        travel=travel,
        unit_kg=unit_kg,
    )


def swap_offset(draws: Draws, plan: Plan, pool: Pool) -> np.ndarray:
    """Log strength of the exercise after the swap over the one before (AxL); 0 without a swap."""
    usual = np.log(pool.ratio[plan.exercise_after]) - np.log(pool.ratio[plan.exercise])
    return np.where(plan.exercise_after != plan.exercise, usual + 0.06 * draws.z_lift[:, :, 4], 0.0)


def _per_week(stay: np.ndarray, weeks: int) -> np.ndarray:
    return np.broadcast_to(stay, (*stay.shape[:2], weeks))


def _targets(draws: Draws, plan: Plan, world: World, week: np.ndarray) -> np.ndarray:
    """Reps in reserve at which the athlete means to stop: steady, or ramping down within a block."""
    steady = plan.target_rir[:, None, None]
    ramp = np.maximum(3.5 - 0.7 * (plan.weeks_in_block[:, week] - 1), 0.0)[:, None, :]
    mean = np.where(plan.ramps_rir[:, None, None], ramp, steady)
    return np.maximum(mean + 0.6 * draws.z_visit[..., 1], 0.0)


def _walk(
    draws: Draws,
    plan: Plan,
    capacity: np.ndarray,
    truth: np.ndarray,
    personal: np.ndarray,
    step: np.ndarray,
    unit_kg: np.ndarray,
    trained: np.ndarray,
    deload: np.ndarray,
    swapped: np.ndarray,
    stop_at: np.ndarray,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Step through the visits: choose the top load, do the top set, learn from it."""
    count, slots, visits = capacity.shape
    unit = np.log(unit_kg)[:, None]
    double = plan.progression == PROGRESSIONS.index("double")
    undulating = plan.progression == PROGRESSIONS.index("undulating")
    pump = plan.scheme == SCHEMES.index("pump")
    low = np.where(pump, 15, plan.reps_low)
    high = np.where(pump, 22, plan.reps_high)
    belief = truth[:, :, 0] - unit + 0.04 * draws.z_lift[:, :, 5] - 0.03
    carried = np.zeros((count, slots))
    misses = np.zeros((count, slots))
    careful = np.zeros((count, slots))
    loads = np.zeros(capacity.shape)
    tops = np.zeros(capacity.shape)
    caps = np.zeros(capacity.shape)
    wave = np.array([0, 4, -2])
    for s in range(visits):
        on, k, grid = trained[:, :, s], personal[:, :, s], step[:, :, s]
        fresh = on & swapped[:, :, s] & ~(swapped[:, :, s - 1] if s else np.zeros_like(on))
        if s and (swapped[:, :, s] != swapped[:, :, s - 1]).any():
            turned = swapped[:, :, s] & ~swapped[:, :, s - 1]
            belief = np.where(turned, truth[:, :, s] - unit + 0.08 * draws.z_lift[:, :, 6], belief)
            carried = np.where(turned, 0.0, carried)
            careful = np.where(turned | fresh, 0.16, careful)
        aim = np.where(
            undulating, np.maximum(low + wave[s % 3], 2), np.where(double, low + 1, (low + high) // 2)
        )
        want = belief - k * curve(aim + stop_at[:, :, s]) - careful
        fitted = np.maximum(np.floor(np.exp(want) / grid + np.where(aim >= 8, 0.25, 0.5)), 1) * grid
        load = np.where(double & (carried > 0) & (careful < 0.05), carried, fitted)
        easy = np.maximum(np.round(load * (0.78 + 0.14 * draws.u_visit[:, :, s, 2]) / grid), 1) * grid
        load = np.where(deload[:, :, s], easy, load)
        failure = reps_to_failure((capacity[:, :, s] - unit - np.log(load)) / k)
        # an athlete judges the reps left with an error
        stop = stop_at[:, :, s] + np.where(deload[:, :, s], 1.5, 0) + 0.5 * draws.z_visit[:, :, s, 2]
        cap = np.where(double | pump, high, np.where(deload[:, :, s], aim, aim + 1))
        reps = np.clip(np.floor(failure - np.maximum(stop, 0)), 1, np.maximum(cap, 1))
        reps = np.minimum(reps, np.maximum(np.floor(failure), 1))
        heavy = on & (failure < 1.2)  # nobody lifts what they cannot lift once: take plates off
        load = np.where(heavy, np.maximum(np.floor(load * 0.9 / grid), 1) * grid, load)
        failure = np.where(heavy, reps_to_failure((capacity[:, :, s] - unit - np.log(load)) / k), failure)
        reps = np.where(heavy, np.clip(np.floor(failure), 1, cap), reps)
        seen = np.log(load) + k * curve(reps + np.where(reps >= cap, np.maximum(failure - reps, 0), stop))
        learn = on & ~deload[:, :, s]
        belief = np.where(learn, belief + 0.3 * (seen - belief), belief)
        up = np.where(failure - reps > 4, 2.0, 1.0) * grid
        misses = np.where(learn, np.where(reps < low, misses + np.where(reps < low - 2, 2, 1), 0), misses)
        down = np.where(reps < low - 2, 2.0, 1.0) * grid
        lower = np.maximum(load - down, grid)
        following = np.where(reps >= high, load + up, np.where(misses >= 2, lower, load))
        misses = np.where(misses >= 2, 0, misses)
        carried = np.where(learn, following, carried)
        careful = np.where(learn, careful * 0.45, careful)
        loads[:, :, s], tops[:, :, s], caps[:, :, s] = load, reps, cap
    return loads, tops, caps
