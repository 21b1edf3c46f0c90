"""Yardstick days: the course of strength and every working set of the yardstick world, as long arrays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Rng = np.random.Generator

SLOTS = 6
FEWEST_WEEKS = 16
FLAT = 0.0005
"""Slopes smaller than this (0.05 % a week) are a stall."""
STALL_SHARE, REGRESS_SHARE, RESTART_SHARE = 0.40, 0.10, 0.5
MEDIAN_SLOPE, ATHLETE_SPREAD, LIFT_SPREAD = 0.0034, 0.6, 0.4
DAY_SD, LIFT_SD, NOISE_SPREAD = 0.018, 0.022, 0.2
BAD_DAYS, BAD_DAY_LOSS = 0.05, 0.06
CURVE_SD, FATIGUE = 0.16, 0.02
LAYOFF_LOSS, REGAIN = 0.01, 0.4
DELOAD_EVERY, DELOAD_SHARE, DELOAD_LOAD = 6, 0.7, 0.85
SWAPS_A_YEAR, LAYOFFS_A_YEAR = 0.4, 1.0


@dataclass(frozen=True, kw_only=True)
class Course:
    """True course: arrays (lift slots, weeks); `swap` is the week from which another exercise is done."""

    slope: Floats
    end: Floats
    begun: Bools
    off: Bools
    deload: Bools
    swap: NDArray[np.intp]
    step_up: Floats


def make_course(rng: Rng, athletes: int, weeks: int) -> Course:
    """Slopes with a stall or a loss for some lifts, weeks off, deloads and swaps."""
    count = athletes * SLOTS
    week = np.arange(weeks)[None, :]
    start = weeks - rng.integers(min(FEWEST_WEEKS, weeks), weeks + 1, athletes)
    first = np.repeat(start, SLOTS)[:, None]
    pace = MEDIAN_SLOPE * np.exp(ATHLETE_SPREAD * rng.normal(size=athletes))
    rate = np.repeat(pace, SLOTS) * np.exp(LIFT_SPREAD * rng.normal(size=count))
    slope = np.repeat(np.clip(rate, 0.0006, 0.013)[:, None], weeks, axis=1)
    onset = first + 4 + np.floor(rng.random((count, 1)) * np.maximum(weeks - first - 6, 1))
    length = np.where(rng.random(count) < RESTART_SHARE, 6 + rng.exponential(12, count), np.inf)[:, None]
    inside = (week >= onset) & (week < onset + length)
    kind = rng.random((count, 1))
    slope = np.where(inside & (kind < STALL_SHARE), 0.0, slope)
    loss = -rng.uniform(0.0015, 0.006, (count, 1))
    slope = np.where(inside & (kind >= STALL_SHARE) & (kind < STALL_SHARE + REGRESS_SHARE), loss, slope)
    away = np.zeros((athletes, weeks), dtype=bool)
    for _ in range(2):
        begin = rng.integers(0, weeks, (athletes, 1))
        span = rng.integers(1, 4, (athletes, 1))
        happens = rng.random((athletes, 1)) < LAYOFFS_A_YEAR * weeks / 104
        away |= happens & (week >= begin) & (week < begin + span)
    planned = rng.random((athletes, 1)) < DELOAD_SHARE
    deload = planned & ((week + rng.integers(0, DELOAD_EVERY, (athletes, 1))) % DELOAD_EVERY == 0) & ~away
    lost = np.zeros((athletes, weeks))
    for w in range(1, weeks):
        gone = lost[:, w - 1]
        lost[:, w] = np.where(away[:, w], gone + LAYOFF_LOSS, gone * (1 - REGAIN))
    off = np.repeat(away, SLOTS, axis=0)
    begun = week >= first
    base = np.log(rng.uniform(35, 170, count))[:, None]
    end = base + np.cumsum(np.where(begun & ~off, slope, 0.0), axis=1) - np.repeat(lost, SLOTS, axis=0)
    swaps = rng.random(count) < SWAPS_A_YEAR * (weeks - first[:, 0]) / 52
    swap = np.where(swaps, first[:, 0] + 5 + rng.integers(0, max(weeks - 8, 1), count), 2 * weeks)
    return Course(
        slope=slope,
        end=end,
        begun=begun,
        off=off,
        deload=np.repeat(deload, SLOTS, axis=0),
        swap=swap.astype(np.intp),
        step_up=rng.normal(0, 0.15, count),
    )


def reps_left(excess: Floats, own: Floats) -> Floats:
    """Repetitions to failure at a load whose log lies `excess` below the maximum: a straight line of load
    over repetitions, bent by the person's own factor.
    """
    return np.asarray(1 + 31 * (np.expm1(np.clip(excess, -0.3, 1.2) / own)))


def make_days(rng: Rng, course: Course) -> tuple[dict[str, Floats], dict[str, Floats]]:
    """Every working set, and every trained day with what was true of it, as long arrays."""
    count, weeks = course.slope.shape
    athletes = count // SLOTS

    def each(values: NDArray[np.generic]) -> NDArray[Any]:
        return np.repeat(values, SLOTS)

    scale = each(np.exp(NOISE_SPREAD * rng.normal(size=athletes)))
    own = each(np.exp(CURVE_SD * rng.normal(size=athletes))) * np.exp(0.05 * rng.normal(size=count))
    logs, bias = each(rng.random(athletes) < 0.5), each(rng.normal(0.5, 0.5, athletes))
    aim, ramps = each(rng.uniform(0, 3, athletes)), each(rng.random(athletes) < 0.4)
    low = rng.integers(4, 10, count).astype(float)
    high = low + rng.integers(2, 6, count)
    sets = rng.integers(2, 5, count)
    double = rng.random(count) < 0.75
    visits_a_week = np.where(rng.random(count) < 0.7, 2, 1)
    step = np.where(each(rng.random(athletes) < 0.3), 2.268, 2.5)
    belief = course.end[:, 0] - course.slope[:, 0] + rng.normal(-0.02, 0.04, count)
    load = np.zeros(count)
    parts: list[dict[str, Floats]] = []
    days: list[dict[str, Floats]] = []
    lift = np.arange(count)
    place = lift % SLOTS
    since = np.zeros(count)
    for visit in range(2 * weeks):
        week, second = divmod(visit, 2)
        day = 7 * week + 3 * second + (place >= SLOTS // 2)
        swapped = week >= course.swap
        shared_days = DAY_SD * rng.normal(size=(athletes, 2))
        shared_days -= BAD_DAY_LOSS * (rng.random((athletes, 2)) < BAD_DAYS)
        shared = np.repeat(shared_days, SLOTS // 2, axis=1).ravel() * scale
        true = course.end[:, week] - course.slope[:, week] * (1 - (day % 7) / 7)
        true = true + np.where(swapped, course.step_up, 0.0)
        able = true + shared + LIFT_SD * scale * rng.normal(size=count)
        go = course.begun[:, week] & ~course.off[:, week] & (rng.random(count) > 0.06)
        go &= (second == 0) | (visits_a_week == 2)
        since = np.where(course.deload[:, week], 0.0, since + 0.5)
        reserve = np.where(ramps, np.maximum(3.5 - 0.6 * since, 0), aim) + 0.6 * rng.normal(size=count)
        reserve = np.maximum(reserve, 0)
        fresh = (week == course.swap) & (second == 0)
        belief = np.where(fresh, true + rng.normal(-0.06, 0.06, count), belief)
        middle = np.where(double, low + 1, (low + high) / 2)
        wanted = belief - own * np.log1p((middle + reserve - 1) / 31)
        fitted = np.maximum(np.round(np.exp(wanted) / step), 1) * step
        load = np.where(fresh | (load == 0) | ~double, fitted, load)
        used = np.where(
            course.deload[:, week], np.maximum(np.round(DELOAD_LOAD * load / step), 1) * step, load
        )
        first = np.zeros(count)
        for k in range(int(sets.max())):
            here = go & (k < sets)
            limit = reps_left(able - FATIGUE * k - np.log(used), own)
            stop = np.where(course.deload[:, week], reserve + 2, reserve) + 0.5 * rng.normal(size=count)
            most = np.where(course.deload[:, week], middle, np.where(double, high, middle + 1))
            done = np.clip(np.floor(limit - np.maximum(stop, 0)), 1, most)
            first = done if k == 0 else first
            guess = limit - done - bias + (0.5 + 0.15 * np.maximum(limit - done, 0)) * rng.normal(size=count)
            written = here & logs & (rng.random(count) < 0.9)
            rir = np.where(written, np.clip(np.round(guess), 0, 6), np.nan)
            values = {"lift": lift, "day": day, "number": np.full(count, k + 1), "load": used, "reps": done}
            parts.append({n: v[here].astype(float) for n, v in {**values, "rir": rir}.items()})
        known = {"lift": lift, "day": day, "able": able, "shared": shared, "own_sd": LIFT_SD * scale}
        days.append({n: v[go].astype(float) for n, v in known.items()})
        learn = go & ~course.deload[:, week]
        seen = np.log(used) + own * np.log1p((np.maximum(first, 1) + reserve - 1) / 31)
        belief = np.where(learn, belief + 0.3 * (seen - belief), belief)
        load = np.where(learn & (first >= high), load + step, load)
        load = np.where(learn & (first < low - 1), np.maximum(load - step, step), load)
    return _joined(parts), _joined(days)


def _joined(parts: list[dict[str, Floats]]) -> dict[str, Floats]:
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
