"""Worlds: the simulated rosters that the trend is fitted to, and those it is shown on, by name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.simulate import unlike_course as course
from analytics.simulate.roster import simulate_roster
from analytics.simulate.unlike import UNLIKE, Unlike, simulate_unlike
from analytics.simulate.world import Simulated, World
from analytics.simulate.yardstick import simulate_yardstick

Floats = NDArray[np.float64]

HELD_OUT = ("advanced", "diets", "novices", "wandering")
"""Worlds that the second fit, for honest figures, never sees."""
BROKEN = ("templates", "undulating", "heavy_tails", "effort_blocks", "mixed")
"""Worlds of straight progress with a break: rates and shares are drawn anew; "mixed" draws the scheme too."""
FIRST_SEED = 100
"""Seeds from here on are for fitting; 0 to 99 are for showing."""


def random_world(rng: np.random.Generator) -> World:
    """A default-style world with every parameter that matters drawn anew.

    Half of them are plain: nobody diets and no muscle is neglected or deaf to training.
    """
    odd = float(rng.random() < 0.5)
    low = float(np.exp(rng.uniform(np.log(0.05), np.log(0.25))))
    rir = float(rng.choice([0.0, 0.3, 0.5, 0.8, 1.0]))
    return World(
        slope_pct_per_week=(low, float(np.exp(rng.uniform(np.log(0.45), np.log(1.3))))),
        slope_spread=rng.uniform(0.1, 0.5),
        slowing_per_year=rng.uniform(0.0, 0.5),
        stall_share=rng.uniform(0.2, 0.6),
        stall_weeks=rng.uniform(8, 25),
        regress_share=rng.uniform(0.03, 0.2),
        restart_share=rng.uniform(0.2, 0.9),
        day_sd=rng.uniform(0.010, 0.035),
        lift_sd=rng.uniform(0.015, 0.042),
        noise_spread=rng.uniform(0.0, 0.4),
        bad_day_share=rng.uniform(0.0, 0.08),
        missed_session_share=rng.uniform(0.0, 0.15),
        curve_spread=rng.uniform(0.05, 0.30),
        fatigue_per_set=rng.uniform(0.008, 0.035),
        rir_logging_share=rir,
        rir_bias=rng.uniform(0.0, 1.2),
        rir_sd=rng.uniform(0.2, 1.2),
        rir_ramp_share=rng.uniform(0.0, 1.0),
        double_progression_share=rng.uniform(0.2, 0.9),
        undulating_share=rng.uniform(0.0, 0.1),
        deload_share=rng.uniform(0.2, 1.0),
        layoffs_per_year=rng.uniform(0.0, 2.0),
        travel_per_year=rng.uniform(0.0, 3.0),
        calendar_kept_share=rng.uniform(0.0, 1.0),
        swap_per_lift_year=rng.uniform(0.0, 0.8),
        cut_share=odd * rng.uniform(0.0, 0.5),
        neglected_share=odd * rng.uniform(0.0, 0.35),
        non_response_share=odd * rng.uniform(0.0, 0.2),
        cut_strength_pct_per_week=(0.0, float(rng.choice([0.05, 0.15, 0.35, 0.5]))),
    )


def training_rosters(count: int, seed: int = FIRST_SEED) -> list[tuple[str, int]]:
    """Worlds and seeds to fit to.  Of ten rosters five are default-style, two of mixed structure, two of one
    kept structure and one of a world in HELD_OUT, all with parameters drawn anew.
    """
    kept = [name for name in sorted(UNLIKE) if name not in HELD_OUT]
    found = []
    for k in range(count):
        lap, place = divmod(k, 10)
        if place < 5:
            name = "drawn"
        elif place < 7:
            name = "drawn mixed"
        elif place < 9:
            name = f"drawn {kept[(2 * lap + place) % len(kept)]}"
        else:
            name = f"drawn {HELD_OUT[lap % len(HELD_OUT)]}"
        found.append((name, seed + k))
    return found


def held_out(name: str) -> bool:
    """Whether a roster's world is one of HELD_OUT."""
    return name.removeprefix("drawn ") in HELD_OUT


def simulate_named(name: str, athletes: int, weeks: int, seed: int) -> Simulated:
    """The default world ("default"), a drawn one ("drawn"), the yardstick ("yardstick"), an unlike one by
    name, or "drawn NAME" for one of its structure with drawn parameters.
    """
    if name == "yardstick":
        return simulate_yardstick(athletes, weeks, seed)[0]
    if name == "default":
        return simulate_roster(World(), athletes, weeks, seed)
    if name == "drawn":
        return simulate_roster(random_world(np.random.default_rng([seed, 7])), athletes, weeks, seed)
    if name.startswith("drawn "):
        plain = name.removeprefix("drawn ")
        base = "heavy_tails" if plain == "mixed" else plain
        return simulate_unlike(base, athletes, weeks, seed, _varied(plain, UNLIKE[base], seed))
    return simulate_unlike(name, athletes, weeks, seed)


PHASES_DECLARED = 0.7
"""Share of athletes whose coach wrote down the phases of the plan."""


def known_phases(simulated: Simulated, rng: np.random.Generator) -> pl.DataFrame:
    """Phases as some coaches would have declared them: athlete, name, from; where nobody diets, a build."""
    truth = simulated.truth_lifts
    span = truth.group_by("athlete").agg(first=pl.col("week_end").min())
    cuts = simulated.athletes
    if "cut_from" in cuts.columns:
        cuts = cuts.select("athlete", "cut_from", "cut_to")
    elif "diet_from" in cuts.columns:
        cuts = cuts.select("athlete", cut_from="diet_from", cut_to=pl.lit(None, pl.Date))
    else:
        cuts = cuts.select("athlete", cut_from=pl.lit(None, pl.Date), cut_to=pl.lit(None, pl.Date))
    declared = pl.Series(rng.random(simulated.athletes.height) < PHASES_DECLARED)
    chosen = simulated.athletes.select("athlete").filter(declared)
    table = span.select("athlete", "first").join(cuts, on="athlete", how="left").join(chosen, on="athlete")
    parts = [
        table.select("athlete", name=pl.lit("build"), **{"from": pl.col("first") - pl.duration(days=7)}),
        table.select("athlete", name=pl.lit("cut"), **{"from": "cut_from"}),
        table.select("athlete", name=pl.lit("off"), **{"from": pl.col("cut_to") + pl.duration(days=1)}),
    ]
    return pl.concat(parts).drop_nulls().sort("athlete", "from")


def _varied(plain: str, world: Unlike, seed: int) -> Unlike:
    """The same structure with noise, logging and curves drawn anew."""
    rng = np.random.default_rng([seed, 13])
    pace = float(np.exp(rng.uniform(np.log(0.6), np.log(1.6))))
    slopes: Callable[[np.random.Generator, int, int], Floats]
    if plain in BROKEN:
        low = float(np.exp(rng.uniform(np.log(0.0006), np.log(0.0020))))
        rates = low, float(np.exp(rng.uniform(np.log(0.004), np.log(0.012))))
        share = rng.uniform(0.2, 0.6)

        def slopes(draw: np.random.Generator, count: int, weeks: int) -> Floats:
            return course.broken(draw, count, weeks, rates, share)
    else:

        def slopes(draw: np.random.Generator, count: int, weeks: int) -> Floats:
            return pace * world.slopes(draw, count, weeks)

    if plain == "mixed":
        world = replace(
            world,
            scheme=str(rng.choice(["template", "waves", "top_set", "by_feel", "range"])),
            effort=str(rng.choice(["steady", "blocks", "drifting"])),
            tail=float(rng.choice([3.0, 6.0, 60.0])),
        )
    return replace(
        world,
        slopes=slopes,
        rir_logged=float(rng.choice([0.0, 0.5, 1.0])),
        day_sd=rng.uniform(0.010, 0.035),
        lift_sd=rng.uniform(0.012, 0.040),
        curve_power=rng.uniform(0.7, 1.2),
        curve_sd=rng.uniform(0.05, 0.3),
        layoffs=rng.uniform(0.0, 0.6),
        reserve=(0.0, rng.uniform(1.5, 5.0)),
    )
