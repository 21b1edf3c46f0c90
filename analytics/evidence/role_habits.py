"""Role habits: a second, unlike source of logs with known roles, to judge role inference on.

Where ``World`` simulates a whole career, this one only lays out sessions, by other rules: another curve of
load and repetitions, ramps and ramps of equal repetitions as warm-ups, reversed pyramids, drops after every
set, drops that go on to failure, back-offs that step down.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
import polars as pl

from analytics import schema
from analytics.simulate.world import LAST_DAY

Set = tuple[float, int, str]  # load in kg, repetitions, role
_SCHEMES = ("straight", "pyramid", "back_off", "reversed", "drop", "drop_each", "rest_pause")
_SHARES = (0.36, 0.20, 0.17, 0.04, 0.16, 0.02, 0.05)
_WARM_UPS = ("none", "one", "two_light", "ramp", "ramp", "same_reps")
_LIFTS = 6


@dataclass(frozen=True, kw_only=True)
class _Habit:
    """How one athlete does one lift."""

    scheme: str
    warm_up: str
    step_kg: float
    bend: float
    reps: int
    reserve: float
    sets: int
    gap: float
    more_reps: float
    back_offs: int
    back_off_cut: float
    steps_down: bool
    added_reps: int
    drops: int
    same_reps: bool


def habit_logs(athletes: int, sessions: int, seed: int) -> pl.DataFrame:
    """``schema.SETS`` with true roles: six lifts an athlete, every third day, up to the usual last day."""
    rng = np.random.default_rng([seed, 77])
    rows: list[tuple[object, ...]] = []
    for athlete in range(athletes):
        tells_rest, tells_rir, warms_up = rng.random() < 0.2, rng.random() < 0.45, rng.random() < 0.75
        for lift in range(_LIFTS):
            habit = _habit(rng, warms_up)
            maximum = float(np.exp(rng.normal(4.3, 0.5)))
            for session in range(sessions):
                maximum *= 1.002
                day = LAST_DAY - timedelta(days=3 * (sessions - 1 - session))
                capacity = maximum * float(np.exp(rng.normal(0, 0.035)))
                for number, (load, reps, role) in enumerate(_session(rng, habit, maximum, capacity)):
                    rest = _rest(rng, role) if tells_rest and number else None
                    rir = _rir(rng, role, _failure(load, capacity, habit) - reps) if tells_rir else None
                    rows.append(
                        (
                            f"h{athlete:04d}",
                            day,
                            lift + 1,
                            number + 1,
                            f"lift-{lift}",
                            load,
                            reps,
                            role,
                            rest,
                            rir,
                        )
                    )
    names = [
        "athlete",
        "date",
        "position",
        "set_number",
        "exercise",
        "load_kg",
        "reps",
        "role",
        "rest_s",
        "rir",
    ]
    types = {name: schema.SETS.empty().schema[name] for name in names}
    frame = pl.DataFrame(rows, schema=types, orient="row").with_columns(
        session=pl.lit(1),
        exercise_as_logged="exercise",
        role_source=pl.lit("logged"),
        suspect=pl.lit(False),
        source_file=pl.lit("simulated"),
        source_row=pl.int_range(1, pl.len() + 1),
    )
    empty = [pl.lit(None, c.dtype).alias(c.name) for c in schema.SETS.columns if c.name not in frame.columns]
    return schema.conform(frame.with_columns(empty), schema.SETS)


def _habit(rng: np.random.Generator, warms_up: bool) -> _Habit:
    return _Habit(
        scheme=str(rng.choice(_SCHEMES, p=_SHARES)),
        warm_up=str(rng.choice(_WARM_UPS)) if warms_up else "none",
        step_kg=float(rng.choice([1.0, 2.0, 5 * schema.KG_PER_LB, 2.5, 5.0])),
        bend=float(np.exp(rng.normal(0, 0.2))),
        reps=int(rng.choice([4, 5, 6, 8, 8, 10, 10, 12, 12, 15])),
        reserve=rng.uniform(0, 3),
        sets=int(rng.integers(2, 5)),
        gap=rng.uniform(0.04, 0.13),
        more_reps=rng.uniform(1, 3),
        back_offs=int(rng.integers(1, 5)),
        back_off_cut=rng.uniform(0.06, 0.22),
        steps_down=bool(rng.random() < 0.2),
        added_reps=int(rng.integers(0, 6)),
        drops=int(rng.choice([1, 1, 2, 3])),
        same_reps=bool(rng.random() < 0.7),
    )


def _failure(load: float, capacity: float, habit: _Habit) -> float:
    """Repetitions to failure: linear in capacity over load (the form of Epley 1985)."""
    return max(1.0, 30 / habit.bend * (capacity / load - 1))


def _session(rng: np.random.Generator, habit: _Habit, maximum: float, capacity: float) -> list[Set]:
    reps = int(np.clip(habit.reps + rng.integers(-1, 2), 2, 20))
    reserve = max(0.0, habit.reserve + rng.normal(0, 0.7))
    top = _rounded(maximum / (1 + habit.bend * (reps + reserve) / 30), habit)

    def done(load: float, left: float, tired: float, most: int) -> int:
        return int(np.clip(np.floor(_failure(load, capacity * (1 - tired), habit) - left), 1, most))

    work: list[Set] = []
    for j in range(1 if habit.scheme == "back_off" else habit.sets):
        last = j == habit.sets - 1
        if habit.scheme == "pyramid":
            below = habit.sets - 1 - j
            load = _rounded(top * (1 - habit.gap * below), habit)
            work.append(
                (load, done(load, reserve + 0.5, 0.015 * j, reps + round(habit.more_reps * below)), "working")
            )
        elif habit.scheme == "reversed":
            load = _rounded(top * (1 - habit.gap) ** j, habit)
            work.append((load, done(load, reserve, 0.02 * j, reps + 2 * j), "back_off" if j else "working"))
        else:
            chained = habit.scheme == "drop_each" or (habit.scheme == "drop" and last and rng.random() < 0.9)
            work.append((top, done(top, 0 if chained else reserve, 0.02 * j, reps + 1), "working"))
            work += _drops(rng, habit, top, work[-1][1], capacity) if chained else []
    if habit.scheme == "back_off":
        load, cut = top, habit.back_off_cut * (0.6 if habit.steps_down else 1.0)
        for j in range(habit.back_offs):
            load = _rounded(load * (1 - cut), habit) if j == 0 or habit.steps_down else load
            work.append((load, done(load, reserve, 0.02 * (j + 1), reps + habit.added_reps), "back_off"))
    if habit.scheme == "rest_pause":
        for _ in range(int(rng.integers(1, 4))):
            work.append((top, max(1, round(work[habit.sets - 1][1] * rng.uniform(0.2, 0.5))), "rest_pause"))
    return [*_warm_up(rng, habit, work[0][0]), *work]


def _drops(rng: np.random.Generator, habit: _Habit, load: float, reps: int, capacity: float) -> list[Set]:
    """A cut of a sixth to over a third each; the same repetitions again, or whatever is left."""
    chain: list[Set] = []
    for d in range(habit.drops):
        lower = _rounded(load * (1 - rng.uniform(0.17, 0.37)), habit)
        if lower >= load:
            break
        load = lower
        tired = rng.uniform(0.24, 0.36) + 0.08 * d
        left = (
            round(reps * rng.uniform(0.7, 1.15))
            if habit.same_reps
            else _failure(load, capacity * (1 - tired), habit)
        )
        chain.append((load, int(np.clip(left, 2, 30)), "drop"))
    return chain


def _warm_up(rng: np.random.Generator, habit: _Habit, first: float) -> list[Set]:
    if habit.warm_up == "none" or rng.random() < 0.1:
        return []
    if habit.warm_up == "one":
        plan = [(0.5, int(rng.integers(10, 16)))]
    elif habit.warm_up == "two_light":
        plan = [(rng.uniform(0.38, 0.5), 20), (rng.uniform(0.5, 0.62), int(rng.integers(15, 19)))]
    elif habit.warm_up == "ramp":
        count = int(rng.integers(2, 6))
        shares = np.linspace(rng.uniform(0.3, 0.5), rng.uniform(0.78, 0.92), count)
        reps = np.linspace(rng.integers(8, 13), rng.integers(1, 4), count)
        plan = [(float(share), round(float(r))) for share, r in zip(shares, reps, strict=True)]
    else:
        plan = (
            [(share, habit.reps) for share in (0.4, 0.55, 0.7, 0.82)]
            if habit.reps < 7
            else [(0.4, 10), (0.65, 8)]
        )
    sets: list[Set] = []
    for share, r in plan:
        load = _rounded(first * share, habit)
        if load < first and (not sets or load >= sets[-1][0]):
            sets.append((load, r, "warm_up"))
    return sets


def _rounded(load: float, habit: _Habit) -> float:
    return max(round(load / habit.step_kg), 1) * habit.step_kg


def _rest(rng: np.random.Generator, role: str) -> float:
    if role == "drop":
        return float(rng.choice([0, 10, 15]))
    if role == "rest_pause":
        return float(rng.integers(10, 26))
    return 60.0 if role == "warm_up" else float(rng.choice([60, 90, 120, 180]))


def _rir(rng: np.random.Generator, role: str, left: float) -> float | None:
    if role == "warm_up" or rng.random() < 0.15:
        return None
    return float(np.clip(round(left + rng.normal(0, 0.8)), 0, 6)) if role in schema.HARD_ROLES else 0.0
