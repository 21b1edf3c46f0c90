"""Evidence fit: learns the packaged correction from simulated rosters of many unlike worlds.

``python -m analytics.simulate.evidence_fit`` writes analytics/trend/correction.json (a few minutes on one
core). Worlds named in HELD_OUT are never fitted to: they show whether the correction holds elsewhere.
"""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.simulate.evidence_network import Training, fit_network
from analytics.simulate.roster import simulate_roster
from analytics.simulate.unlike import UNLIKE, Unlike, simulate_unlike
from analytics.simulate.world import LAST_DAY, Simulated, World
from analytics.strength import estimate_sessions
from analytics.trend import correction
from analytics.trend.correction import Network
from analytics.trend.filter import run_filter
from analytics.trend.judge import features_of
from analytics.trend.model import Model
from analytics.trend.regimes import CLASSES, default_regimes
from analytics.trend.series import EPOCH, make_series, week_ends

Floats = NDArray[np.float64]

HELD_OUT = ("advanced", "diets", "novices", "wandering")
"""Worlds that the second fit, for honest figures, never sees."""
FIRST_SEED, LAST_SEED = 100, 999
ROSTERS, ATHLETES = 112, 40
KEPT_SHARE = 0.5
FEWEST_SESSIONS = 2


@dataclass(frozen=True, kw_only=True)
class Examples:
    """Rows of features with the true class (index into CLASSES) and the world's number."""

    names: tuple[str, ...]
    inputs: Floats
    truth: NDArray[np.intp]


def random_world(rng: np.random.Generator) -> World:
    """A default-style world with every parameter that matters drawn anew."""
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
        cut_share=rng.uniform(0.0, 0.4),
        neglected_share=rng.uniform(0.0, 0.35),
        non_response_share=rng.uniform(0.0, 0.2),
    )


def examples(simulated: Simulated, rng: np.random.Generator, as_of: date = LAST_DAY) -> Examples:
    """Features and truth of a random share of lift-weeks of one roster."""
    sessions = estimate_sessions(simulated.sets)
    series = make_series(sessions, simulated.calendar, "exercise")
    weeks = week_ends(min(sessions["date"].to_list()), as_of)
    checkpoints = np.array([(end - EPOCH).days for end in weeks], dtype=np.intp)
    regimes = default_regimes()
    start = np.tile(regimes.prior, (len(series.groups), 1))
    filtered = run_filter(series.observed, checkpoints, regimes, Model(), start)
    features = features_of(series, filtered, checkpoints, regimes)
    place = pl.DataFrame({"week_end": pl.Series(weeks, dtype=pl.Date)}).with_row_index("week")
    truth = (
        simulated.truth_lifts.join(series.lifts, on=["athlete", "exercise"])
        .join(place, on="week_end")
        .sort("series", "week")
    )
    rows, columns = truth["series"].to_numpy(), truth["week"].to_numpy()
    kind = truth["regime"].replace_strict({name: k for k, name in enumerate(CLASSES)}).to_numpy()
    taken = features.values[rows, columns]
    so_far = np.expm1(taken[:, features.names.index("log_sessions")])
    idle = taken[:, features.names.index("weeks_idle")]
    keep = (so_far >= FEWEST_SESSIONS) & (idle <= 6) & (rng.random(len(rows)) < KEPT_SHARE)
    names = features.names
    return Examples(names=names, inputs=taken[keep], truth=kind[keep].astype(np.intp))


def training_rosters(worlds: tuple[str, ...], rosters: int, seed: int = FIRST_SEED) -> list[tuple[str, int]]:
    """Worlds and seeds to fit to: one half default-style with drawn parameters, the other unlike ones in
    turn.
    """
    return [
        ("drawn" if k % 2 else f"drawn {worlds[(k // 2) % len(worlds)]}", seed + k) for k in range(rosters)
    ]


def simulate_named(name: str, athletes: int, weeks: int, seed: int) -> Simulated:
    """The default world ("default"), a drawn one ("drawn"), an unlike one by name, or
    "drawn NAME" for one of its structure with drawn parameters."""
    if name == "default":
        return simulate_roster(World(), athletes, weeks, seed)
    if name == "drawn":
        return simulate_roster(random_world(np.random.default_rng([seed, 7])), athletes, weeks, seed)
    if name.startswith("drawn "):
        plain = name.removeprefix("drawn ")
        return simulate_unlike(plain, athletes, weeks, seed, _varied(UNLIKE[plain], seed))
    return simulate_unlike(name, athletes, weeks, seed)


def _varied(world: Unlike, seed: int) -> Unlike:
    """The same structure with noise, logging and curves drawn anew."""
    rng = np.random.default_rng([seed, 13])
    pace = float(np.exp(rng.uniform(np.log(0.6), np.log(1.6))))
    return replace(
        world,
        slopes=lambda draw, count, weeks: pace * world.slopes(draw, count, weeks),
        rir_logged=float(rng.choice([0.0, 0.5, 1.0])),
        day_sd=rng.uniform(0.010, 0.035),
        lift_sd=rng.uniform(0.012, 0.040),
        curve_power=rng.uniform(0.7, 1.2),
        curve_sd=rng.uniform(0.05, 0.3),
        layoffs=rng.uniform(0.0, 0.6),
        reserve=(0.0, rng.uniform(1.5, 5.0)),
    )


def gather(worlds: tuple[str, ...], rosters: int, athletes: int) -> Examples:
    """Examples of all training rosters."""
    parts = []
    for name, seed in training_rosters(worlds, rosters):
        rng = np.random.default_rng([seed, 11])
        weeks = int(rng.integers(24, 60))
        parts.append(examples(simulate_named(name, athletes, weeks, seed), rng))
    return Examples(
        names=parts[0].names,
        inputs=np.concatenate([part.inputs for part in parts]).astype(np.float32),
        truth=np.concatenate([part.truth for part in parts]),
    )


def family_columns(names: tuple[str, ...]) -> list[int]:
    """Columns that families have too."""
    cut = names.index("level_sd")
    return list(range(cut))


def stored(network: Network) -> dict[str, object]:
    """Plain lists, numbers to five digits."""

    def plain(values: Floats) -> list[object]:
        return [plain(v) if v.ndim else float(f"{v:.5g}") for v in values]

    return {
        "names": list(network.names),
        "centre": plain(network.centre),
        "spread": plain(network.spread),
        "weights": [plain(w) for w in network.weights],
        "biases": [plain(b) for b in network.biases],
    }


def fit(worlds: tuple[str, ...]) -> dict[str, Network]:
    """The networks for lifts and for families, fitted to default-style worlds and to `worlds`."""
    found = gather(worlds, ROSTERS, ATHLETES)
    few = family_columns(found.names)
    names = tuple(found.names[k] for k in few)
    return {
        "lifts": fit_network(found.names, found.inputs, found.truth, Training()),
        "families": fit_network(names, found.inputs[:, few], found.truth, Training()),
    }


def main() -> None:
    """Fit and write: the packaged networks, or with a file named, those that never saw HELD_OUT."""
    held_out = sys.argv[1:]
    worlds = tuple(sorted(set(UNLIKE) - (set(HELD_OUT) if held_out else set())))
    target = Path(held_out[0]) if held_out else Path(correction.__file__).parent / "correction.json"
    networks = fit(worlds)
    target.write_text(json.dumps({k: stored(v) for k, v in networks.items()}), encoding="utf-8")


if __name__ == "__main__":
    main()
