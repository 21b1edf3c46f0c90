"""Fit: learns the packaged correction from simulated rosters of many unlike worlds.

``python -m analytics.evidence.fit [APART.json]`` writes correction.json and calibration.json of
analytics/trend in about ten minutes on two cores.  A file named gets a network that never saw the worlds in
HELD_OUT: it shows whether the correction holds elsewhere.
"""

from __future__ import annotations

import json
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, replace
from datetime import date
from functools import partial
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.evidence.intervals import interval_ratios, widths
from analytics.evidence.network import Examples, Training, fit_network
from analytics.evidence.report import make_case
from analytics.evidence.worlds import held_out, known_phases, simulate_named, training_rosters
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

ROSTERS, ATHLETES = 300, 40
WIDTH_ROSTERS, WIDTH_SEED = 20, 900
WORKERS = 2
"""Processes that simulate side by side; their number changes no figure."""
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


def roster_examples(roster: tuple[str, int]) -> Examples:
    """Examples of one training roster, named by its world and seed."""
    name, seed = roster
    rng = np.random.default_rng([seed, 11])
    weeks = int(rng.integers(20, 60))
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
    """Plain lists; weights to five digits, the centre whole: a column may hardly spread about it."""

    def plain(values: Floats) -> list[object]:
        return [plain(v) if v.ndim else float(f"{v:.5g}") for v in values]

    return {
        "names": list(network.names),
        "centre": network.centre.tolist(),
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


def roster_ratios(roster: tuple[str, int], network: Network) -> dict[str, Floats]:
    """Misses of intervals of width 1 in one roster; see ``interval_ratios``."""
    case = make_case(roster[0], ATHLETES, 52, roster[1], network)
    judged = replace(case.judged, calibration=Calibration())
    ends = week_ends(min(case.sessions["date"].to_list()), LAST_DAY)
    return interval_ratios(judged, case.rows, ends)


def main() -> None:
    """Fit and write the packaged networks and widths; a file named gets a network that never saw HELD_OUT."""
    rosters = training_rosters(ROSTERS)
    with ProcessPoolExecutor(WORKERS, get_context("spawn")) as workers:
        parts = list(workers.map(roster_examples, rosters))
        networks = fit(together(parts))
        packaged = Path(correction.__file__).parent
        text = json.dumps({kind: stored(network) for kind, network in networks.items()})
        (packaged / "correction.json").write_text(text, encoding="utf-8")
        unseen = training_rosters(WIDTH_ROSTERS, WIDTH_SEED)
        ratios = list(workers.map(partial(roster_ratios, network=networks["lifts"]), unseen))
    usual = [found for found, (name, _) in zip(ratios, unseen, strict=True) if name == "drawn"]
    text = json.dumps(asdict(widths(ratios, usual)))
    (packaged / "calibration.json").write_text(text, encoding="utf-8")
    for apart in sys.argv[1:]:
        seen = [part for part, (name, _) in zip(parts, rosters, strict=True) if not held_out(name)]
        network = fit_network(together(seen), Training())
        Path(apart).write_text(json.dumps({"lifts": stored(network)}), encoding="utf-8")


if __name__ == "__main__":
    main()
