"""Muscle worlds: the evidence on lagging groups, one simulated world after another."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import polars as pl

from analytics.catalogue import Catalogue
from analytics.evidence.muscle_calls import (
    METHODS,
    MuscleEvidence,
    gather_calls,
    named_lifts,
    weigh_calls,
)
from analytics.simulate.roster import simulate_roster
from analytics.simulate.unlike import UNLIKE, simulate_unlike
from analytics.simulate.world import World

WORLDS: Mapping[str, World] = MappingProxyType(
    {
        "default": World(),
        "no_rir": World(rir_logging_share=0.0),
        "noisy": World(day_sd=0.035, lift_sd=0.045),
        "few_stalls": World(stall_share=0.1, regress_share=0.02, slope_spread=0.2),
        "many_neglected": World(neglected_share=0.8, non_response_share=0.5),
        "fast_gainers": World(slope_pct_per_week=(0.4, 1.5)),
    }
)
"""Variants of the default world; the unlike worlds come beside them."""


def judge_worlds(athletes: int, weeks: int, seed: int, catalogue: Catalogue) -> pl.DataFrame:
    """One row per simulated world: how well its lagging groups are told.

    `groups`, `base_rate`; for `ours` (probability of lagging), `sets` (fewest sets) and `slope` (lowest
    slope): `_named` groups, as many as have a probability of 0.5 or more, their `_precision` and `_recall`,
    the `_auc`, and `_one_precision` where each athlete's first group is named; `calibration_slope`, `brier`,
    `brier_base`, `expected_error` of the probability.
    """
    rows = []
    for name in (*WORLDS, *UNLIKE):
        if name in WORLDS:
            simulated = simulate_roster(WORLDS[name], athletes, weeks, seed)
        else:
            simulated = named_lifts(simulate_unlike(name, athletes, weeks, seed))
        found = weigh_calls(gather_calls(simulated, catalogue))
        told = found.calibration.row(0, named=True)
        row = {"world": name, "groups": told["groups"], "base_rate": told["base_rate"]}
        for (method, way), figures in _figures(found).items():
            row |= {f"{method}{way}_{what}": value for what, value in figures.items()}
        rows.append(
            row
            | {
                "calibration_slope": told["slope"],
                "brier": told["brier"],
                "brier_base": told["brier_base"],
                "expected_error": told["expected_error"],
            }
        )
    return pl.DataFrame(rows)


def _figures(found: MuscleEvidence) -> dict[tuple[str, str], dict[str, float]]:
    """Figures by method and way of naming."""
    methods = dict(zip(METHODS, ("ours", "sets", "slope"), strict=True))
    figures = {}
    for row in found.detection.iter_rows(named=True):
        each = row["naming"] == "one per athlete"
        what = ("precision",) if each else ("named", "precision", "recall", "auc")
        figures[methods[row["method"]], "_one" if each else ""] = {key: row[key] for key in what}
    return figures
