"""Unlike worlds: rosters built otherwise than the default simulator, to see whether the judgement holds.

Each world differs in structure: the course of strength, the load-repetition curve, how loads are chosen,
how effort moves, what noise looks like and what is logged.  Half of them are held out from all fitting
(``evidence.fit``).
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from types import MappingProxyType

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics import schema
from analytics.simulate import unlike_course as course
from analytics.simulate.unlike_visits import make_visits
from analytics.simulate.unlike_world import LIFTS_EACH, Floats, Rng, Unlike
from analytics.simulate.world import LAST_DAY, Simulated

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
    sets = make_visits(rng, world, slope, end - slope, off)
    last = LAST_DAY
    return Simulated(
        sets=_set_table(sets, athletes, last - timedelta(days=7 * weeks - 1)),
        checkins=schema.CHECKINS.empty(),
        calendar=schema.CALENDAR.empty(),
        truth_lifts=_truth(slope, end, world.flat, last),
        truth_muscles=pl.DataFrame(),
        athletes=_athletes(slope, last, diets=name == "diets"),
    )


def _athletes(slope: Floats, last: date, diets: bool) -> pl.DataFrame:
    """One row per athlete; `diet_from` is the first day of a diet, which lasts to the end."""
    count, weeks = len(slope) // LIFTS_EACH, slope.shape[1]
    none = (slope <= 0).reshape(count, LIFTS_EACH, weeks).all(axis=1)
    first = [last - timedelta(days=7 * (weeks - int(w)) - 1) for w in none.argmax(axis=1)]
    return pl.DataFrame(
        {
            "athlete": [f"u{a:04d}" for a in range(count)],
            "diet_from": first if diets else [None] * count,
        },
        schema={"athlete": pl.String, "diet_from": pl.Date},
    )


def _weeks_off(rng: Rng, athletes: int, weeks: int, share: float) -> NDArray[np.bool_]:
    begin = rng.integers(0, weeks, athletes)[:, None]
    length = rng.integers(1, 4, athletes)[:, None]
    week = np.arange(weeks)[None, :]
    off = (rng.random(athletes) < share)[:, None] & (week >= begin) & (week < begin + length)
    return np.repeat(off, LIFTS_EACH, axis=0)


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
