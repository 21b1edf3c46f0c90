"""Unlike worlds: rosters built otherwise than the default simulator, to see whether the judgement holds.

Each world differs in structure: the course of strength, the load-repetition curve, how loads are chosen,
how effort moves, what noise looks like and what is logged.  Half of them are held out from all fitting
(``evidence_fit``).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import schema
from analytics.simulate import unlike_course as course
from analytics.simulate.world import LAST_DAY, Simulated

Floats = NDArray[np.float64]
Rng = np.random.Generator


@dataclass(frozen=True, kw_only=True)
class Unlike:
    """One unlike world.

    `slopes(rng, lifts in all, weeks)` gives weekly slopes; `scheme` how loads and reps are chosen: "template"
    (fixed reps, load goes up after every success), "waves" (12, 8, 5 in turn), "top_set" (heavy set and
    back-offs), "by_feel" (load and reps vary from day to day), "range" (reps fill a range, then load).
    `effort`: "steady", "blocks" (reserve shrinks over a block, then a light week) or "drifting".  Noise in
    log strength; `tail` are degrees of freedom.
    """

    slopes: Callable[[Rng, int, int], Floats]
    scheme: str
    effort: str = "steady"
    rir_logged: float = 0.5
    day_sd: float = 0.02
    lift_sd: float = 0.025
    tail: float = 60.0
    curve_power: float = 1.0
    curve_sd: float = 0.2
    flat: float = course.FLAT_PER_WEEK
    layoffs: float = 0.3
    reserve: tuple[float, float] = (0.0, 4.0)


LIFTS_EACH = 6

UNLIKE: Mapping[str, Unlike] = MappingProxyType(
    {
        "novices": Unlike(slopes=course.approaching, scheme="template", rir_logged=0.2, lift_sd=0.035),
        "templates": Unlike(
            slopes=lambda rng, n, w: course.broken(rng, n, w, (0.001, 0.010), 0.4),
            scheme="template",
            rir_logged=0.0,
        ),
        "undulating": Unlike(
            slopes=lambda rng, n, w: course.broken(rng, n, w, (0.0008, 0.008), 0.4),
            scheme="waves",
            rir_logged=0.7,
            curve_power=0.85,
        ),
        "advanced": Unlike(
            slopes=lambda rng, n, w: course.broken(rng, n, w, (0.0004, 0.0016), 0.35),
            scheme="top_set",
            rir_logged=0.8,
            day_sd=0.015,
            lift_sd=0.015,
            flat=0.0003,
            reserve=(0.5, 2.5),
        ),
        "heavy_tails": Unlike(
            slopes=lambda rng, n, w: course.broken(rng, n, w, (0.0008, 0.009), 0.4),
            scheme="by_feel",
            tail=2.5,
            lift_sd=0.022,
        ),
        "effort_blocks": Unlike(
            slopes=lambda rng, n, w: course.broken(rng, n, w, (0.0010, 0.008), 0.4),
            scheme="range",
            effort="blocks",
            rir_logged=0.0,
        ),
        "diets": Unlike(
            slopes=lambda rng, n, w: course.dieting(rng, n, w, LIFTS_EACH), scheme="range", effort="drifting"
        ),
        "wandering": Unlike(slopes=course.wandering, scheme="top_set", effort="drifting", rir_logged=0.4),
    }
)


def simulate_unlike(
    name: str, athletes: int, weeks: int, seed: int, world: Unlike | None = None
) -> Simulated:
    """A roster of one unlike world, two visits a week per lift; same shape as ``simulate_roster``.

    `world` replaces the parameters of that name.

    Raises KeyError for an unknown name.
    """
    world = UNLIKE[name] if world is None else world
    rng = np.random.default_rng([seed, sorted(UNLIKE).index(name)])
    count = athletes * LIFTS_EACH
    slope = world.slopes(rng, count, weeks)
    start = np.log(rng.uniform(40, 180, count))
    end = start[:, None] + np.cumsum(slope, axis=1)
    off = _weeks_off(rng, athletes, weeks, world.layoffs)
    sets = _visits(rng, world, slope, end - slope, off)
    last = LAST_DAY
    return Simulated(
        sets=_set_table(sets, athletes, last - timedelta(days=7 * weeks - 1)),
        checkins=schema.CHECKINS.empty(),
        calendar=schema.CALENDAR.empty(),
        truth_lifts=_truth(slope, end, world.flat, last),
        truth_muscles=pl.DataFrame(),
        athletes=pl.DataFrame({"athlete": [f"u{a:04d}" for a in range(athletes)]}),
    )


def _weeks_off(rng: Rng, athletes: int, weeks: int, share: float) -> NDArray[np.bool_]:
    begin = rng.integers(0, weeks, athletes)[:, None]
    length = rng.integers(1, 4, athletes)[:, None]
    week = np.arange(weeks)[None, :]
    off = (rng.random(athletes) < share)[:, None] & (week >= begin) & (week < begin + length)
    return np.repeat(off, LIFTS_EACH, axis=0)


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


def _visits(
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


def _set_table(found: dict[str, Floats], athletes: int, first: date) -> pl.DataFrame:
    lift = found["lift"].astype(int)
    table = pl.DataFrame(
        {
            "number_of_athlete": lift // LIFTS_EACH,
            "number_of_lift": lift % LIFTS_EACH,
            "offset": found["day"].astype(int),
            "set_number": found["number"].astype(int),
            "load_kg": found["load"],
            "reps": found["reps"].astype(int),
            "rir": pl.Series(found["rir"]).fill_nan(None),
        }
    )
    name = pl.format("lift_{}", "number_of_lift")
    table = table.with_columns(
        athlete=pl.format("u{}", pl.col("number_of_athlete").cast(pl.String).str.zfill(4)),
        date=pl.lit(first) + pl.duration(days="offset"),
        session=1,
        position=pl.col("number_of_lift") + 1,
        exercise=name,
        exercise_as_logged=name,
        family=pl.format("family_{}", "number_of_lift"),
        role=pl.lit("working"),
        role_source=pl.lit("logged"),
        chain=None,
        superset=None,
        side=None,
        added_kg=None,
        implements=1,
        seconds=None,
        rest_s=None,
        suspect=False,
        note=None,
        source_file=pl.format("{}.csv", pl.col("number_of_athlete")),
    ).sort("athlete", "date", "position", "set_number")
    table = table.with_columns(source_row=pl.int_range(1, pl.len() + 1).over("athlete"))
    return schema.conform(table, schema.SETS)


def _truth(slope: Floats, end: Floats, flat: float, last: date) -> pl.DataFrame:
    count, weeks = slope.shape
    kind = course.regime_of(slope, flat)
    changed = np.concatenate([np.ones((count, 1), bool), np.diff(kind, axis=1) != 0], axis=1)
    since = np.maximum.accumulate(np.where(changed, np.arange(weeks), 0), axis=1)
    ends = np.array([last - timedelta(days=7 * (weeks - 1 - w)) for w in range(weeks)], dtype="datetime64[D]")
    starts = ends - 6
    lift = np.repeat(np.arange(count), weeks)
    return pl.DataFrame(
        {
            "athlete": [f"u{a:04d}" for a in lift // LIFTS_EACH],
            "exercise": [f"lift_{n}" for n in lift % LIFTS_EACH],
            "week_end": np.tile(ends, count),
            "strength_kg": np.exp(end).ravel(),
            "slope_pct_per_week": 100 * slope.ravel(),
            "regime": np.array(["progressing", "stalled", "regressing"])[kind].ravel(),
            "regime_since": starts[since].ravel(),
        }
    ).sort("athlete", "exercise", "week_end")
