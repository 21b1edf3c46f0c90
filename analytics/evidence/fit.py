"""Fit: learns the packaged correction from simulated rosters of many unlike worlds.

``python -m analytics.evidence.fit`` writes analytics/trend/correction.json (a few minutes on one
core). Worlds named in HELD_OUT are never fitted to: they show whether the correction holds elsewhere.
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict, replace
from datetime import date
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.evidence.intervals import interval_ratios, widths
from analytics.evidence.network import Examples, Training, fit_network
from analytics.evidence.report import make_case
from analytics.evidence.worlds import HELD_OUT, known_phases, simulate_named, training_rosters
from analytics.simulate.unlike import UNLIKE
from analytics.simulate.world import LAST_DAY, Simulated
from analytics.strength import estimate_sessions
from analytics.trend import correction
from analytics.trend.calibration import Calibration
from analytics.trend.correction import Network
from analytics.trend.filter import run_filter
from analytics.trend.judge import features_of
from analytics.trend.model import Model
from analytics.trend.regimes import CLASSES, default_regimes
from analytics.trend.series import EPOCH, make_series, week_ends

Floats = NDArray[np.float64]

ROSTERS, ATHLETES = 160, 40
SECOND_SEED = 500
WIDTH_ROSTERS = 20
KEPT_SHARE = 0.5
FEWEST_SESSIONS = 2


def examples(simulated: Simulated, rng: np.random.Generator, as_of: date = LAST_DAY) -> Examples:
    """Features and truth of a random share of lift-weeks of one roster."""
    sessions = estimate_sessions(simulated.sets)
    phases = known_phases(simulated, rng)
    series = make_series(sessions, simulated.calendar, "exercise", phases)
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
        .with_columns(progress=pl.col("regime") == CLASSES[0])
        .with_columns(
            progressed=pl.col("progress").cum_max().over("series"),
            since=pl.col("week") - pl.when("progress").then("week").forward_fill().over("series"),
        )
        .with_columns(since=pl.when(~pl.col("progress") & pl.col("progressed")).then("since"))
    )
    rows, columns = truth["series"].to_numpy(), truth["week"].to_numpy()
    kind = truth["regime"].replace_strict({name: k for k, name in enumerate(CLASSES)}).to_numpy()
    slope = truth["slope_pct_per_week"].to_numpy()
    taken = features.values[rows, columns]
    so_far = np.expm1(taken[:, features.names.index("log_sessions")])
    idle = taken[:, features.names.index("weeks_idle")]
    keep = (so_far >= FEWEST_SESSIONS) & (idle <= 6) & (rng.random(len(rows)) < KEPT_SHARE)
    names = features.names
    return Examples(
        names=names,
        inputs=taken[keep].astype(np.float32),
        truth=kind[keep].astype(np.intp),
        slope=slope[keep].astype(np.float32),
        since=truth["since"].cast(pl.Float32).fill_null(np.nan).to_numpy()[keep],
    )


def rosters_to_fit(with_held_out: bool) -> list[tuple[str, int]]:
    """Worlds and seeds: one lot of every world, and one of the plainest ones alone."""
    worlds = tuple(sorted(UNLIKE))
    plain = tuple(name for name in worlds if name not in HELD_OUT)
    rosters = training_rosters(worlds, ROSTERS) + training_rosters(plain, ROSTERS, SECOND_SEED)
    return [(n, seed) for n, seed in rosters if with_held_out or n.removeprefix("drawn ") not in HELD_OUT]


def roster_examples(name: str, seed: int) -> Examples:
    """Examples of one training roster."""
    rng = np.random.default_rng([seed, 11])
    weeks = int(rng.integers(24, 60))
    return examples(simulate_named(name, ATHLETES, weeks, seed), rng)


def together(parts: list[Examples]) -> Examples:
    """All parts as one."""
    return Examples(
        names=parts[0].names,
        inputs=np.concatenate([part.inputs for part in parts]),
        truth=np.concatenate([part.truth for part in parts]),
        slope=np.concatenate([part.slope for part in parts]),
        since=np.concatenate([part.since for part in parts]),
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


def fit(found: Examples) -> dict[str, Network]:
    """The networks for lifts and for families."""
    few = family_columns(found.names)
    names = tuple(found.names[k] for k in few)
    of_families = replace(found, names=names, inputs=found.inputs[:, few])
    return {"lifts": fit_network(found, Training()), "families": fit_network(of_families, Training())}


def fit_widths(network: Network, worlds: tuple[str, ...]) -> Calibration:
    """Interval widths for the network, from rosters it was not fitted to."""
    ratios, usual = [], []
    for k, (name, _) in enumerate(training_rosters(worlds, WIDTH_ROSTERS)):
        case = make_case(name, ATHLETES, 52, 900 + k, network)
        judged = replace(case.judged, calibration=Calibration())
        ends = week_ends(min(case.sessions["date"].to_list()), LAST_DAY)
        ratios.append(interval_ratios(judged, case.rows, ends))
        if name == "drawn":
            usual.append(ratios[-1])
    return widths(ratios, usual)


def main() -> None:
    """Fit and write: the packaged networks and widths, or with a file named, what never saw HELD_OUT."""
    apart = sys.argv[1:]
    found = together([roster_examples(name, seed) for name, seed in rosters_to_fit(not apart)])
    networks = fit(found)
    target = Path(apart[0]) if apart else Path(correction.__file__).parent / "correction.json"
    target.write_text(json.dumps({k: stored(v) for k, v in networks.items()}), encoding="utf-8")
    if not apart:
        widths_found = fit_widths(networks["lifts"], tuple(sorted(UNLIKE)))
        text = json.dumps(asdict(widths_found))
        (target.parent / "calibration.json").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
