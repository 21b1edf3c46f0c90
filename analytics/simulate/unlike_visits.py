"""Unlike visits: every working set of every visit of an unlike world, as long arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analytics.simulate.unlike_world import LIFTS_EACH, Floats, Rng, Unlike


def _log_ratio(reps: Floats, power: float) -> Floats:
    """This world's curve: a power law of repetitions, unlike the published shapes."""
    return 0.118 * np.maximum(reps - 1, 0) ** (0.42 + 0.2 * power) / 1.35


def _reps_at(excess: Floats, power: float) -> Floats:
    return 1 + (np.maximum(excess, 0) * 1.35 / 0.118) ** (1 / (0.42 + 0.2 * power))


def _reserve(rng: Rng, world: Unlike, count: int, weeks: int) -> Floats:
    """Repetitions in reserve meant at each week (count, weeks)."""
    mean = np.repeat(rng.uniform(*world.reserve, count // LIFTS_EACH), LIFTS_EACH)[:, None]
    week = np.arange(weeks)[None, :]
    if world.effort == "blocks":
        block = np.repeat(rng.integers(4, 8, count // LIFTS_EACH), LIFTS_EACH)[:, None]
        return np.asarray(4.0 * (1 - (week % block) / (block - 1)) + 0 * mean)
    if world.effort == "drifting":
        drift = np.zeros((count, weeks))
        for w in range(1, weeks):
            drift[:, w] = 0.85 * drift[:, w - 1] + 0.7 * rng.normal(size=count)
        return np.maximum(mean + drift, 0)
    return mean + np.zeros((count, weeks))


def make_visits(
    rng: Rng, world: Unlike, slope: Floats, level: Floats, off: NDArray[np.bool_]
) -> dict[str, Floats]:
    """Every working set of every visit, as long arrays."""
    count, weeks = slope.shape
    power = world.curve_power
    own = np.exp(world.curve_sd * rng.normal(size=count))
    base = rng.integers(4, 11, count).astype(float)
    sets = rng.integers(2, 5, count)
    reserve = _reserve(rng, world, count, weeks)
    logs = np.repeat(rng.random(count // LIFTS_EACH) < world.rir_logged, LIFTS_EACH)
    load = np.round(np.exp(level[:, 0] - own * _log_ratio(base + 3, power)) / 2.5) * 2.5
    load = np.maximum(load, 2.5)
    failures = np.zeros(count)
    parts: list[dict[str, Floats]] = []
    lift = np.arange(count)
    athlete_lifts = np.arange(count) % LIFTS_EACH
    scale = np.sqrt((world.tail - 2) / world.tail)
    for visit in range(2 * weeks):
        week, second = divmod(visit, 2)
        day = 7 * week + np.where(athlete_lifts < 3, 0, 1) + 3 * second
        shared = np.repeat(rng.standard_t(world.tail, (count // LIFTS_EACH, 2)), 3, axis=1).ravel() * scale
        noise = world.day_sd * shared + world.lift_sd * scale * rng.standard_t(world.tail, count)
        able = level[:, week] + slope[:, week] * (day % 7) / 7 + noise
        spare = reserve[:, week] + 0.5 * rng.normal(size=count)
        go = ~off[:, week] & (rng.random(count) > 0.06)
        target = base.copy()
        if world.scheme == "waves":
            target = np.array([12.0, 8.0, 5.0])[visit % 3] + 0 * base
        if world.scheme == "by_feel":
            target = np.maximum(base + rng.integers(-2, 5, count), 3)
        if world.scheme in ("waves", "by_feel", "top_set"):
            hope = level[:, week] + 0.02 * rng.normal(size=count) - 0.01
            load = np.maximum(np.round(np.exp(hope - own * _log_ratio(target + spare, power)) / 2.5), 1) * 2.5
        light = (world.effort == "blocks") & (reserve[:, week] >= 4.0) & (week > 0)
        used = np.where(light, np.maximum(np.round(0.88 * load / 2.5), 1) * 2.5, load)
        first = None
        for k in range(int(sets.max())):
            here = go & (k < sets)
            lighter = 0.9 if world.scheme == "top_set" and k else 1.0
            weight = np.maximum(np.round(used * lighter / 1.25), 1) * 1.25
            limit = _reps_at((able - 0.018 * k - np.log(weight)) / own, power)
            room = np.floor(np.maximum(limit - np.maximum(spare, 0), 1))
            if world.scheme == "template":
                done = np.minimum(np.maximum(np.floor(limit), 1), target)
            elif world.scheme == "range":
                done = np.minimum(room, base + 4)
            else:
                done = np.clip(room, 1, target + (3 if lighter < 1 else 1))
            guess = np.maximum(np.round(limit - done + 0.7 * rng.normal(size=count) - 0.5), 0)
            first = done if first is None else first
            written = logs & (guess <= 5)
            parts.append(
                {
                    "lift": lift[here].astype(float),
                    "day": day[here],
                    "number": np.full(here.sum(), k + 1),
                    "load": weight[here],
                    "reps": done[here],
                    "rir": np.where(written, guess, np.nan)[here],
                }
            )
        if world.scheme == "template":
            missed = go & (first < target)
            failures = np.where(go, np.where(missed, failures + 1, 0), failures)
            load = np.where(go & ~missed & (rng.random(count) < 0.6), load + 2.5, load)
            load = np.where(failures >= 3, np.maximum(np.round(0.9 * load / 2.5), 1) * 2.5, load)
            failures = np.where(failures >= 3, 0, failures)
        if world.scheme == "range":
            load = np.where(
                go & ~light & (first >= base + 4), load + np.maximum(np.round(load * 0.02), 1) * 1.25, load
            )
            load = np.where(go & ~light & (first < base - 1), np.maximum(load - 2.5, 2.5), load)
    return {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
