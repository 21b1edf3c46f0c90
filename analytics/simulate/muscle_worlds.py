"""Muscle worlds: the evidence on lagging groups, one simulated world after another."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import polars as pl

from analytics.catalogue import Catalogue
from analytics.simulate.muscle_evidence import METHODS, gather_calls, named_lifts, weigh_calls
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

    `groups`, `base_rate`; `precision` and `recall` of groups named with a probability of 0.5 or more (`named`
    of them), `slope_precision` and `sets_precision` of as many named by the lowest slope and the fewest sets;
    `auc` of all three; `calibration_slope`, `brier`, `brier_base`, `expected_error`.
    """
    rows = []
    for name in (*WORLDS, *UNLIKE):
        if name in WORLDS:
            simulated = simulate_roster(WORLDS[name], athletes, weeks, seed)
        else:
            simulated = named_lifts(simulate_unlike(name, athletes, weeks, seed))
        found = weigh_calls(gather_calls(simulated, catalogue))
        equal = found.detection.filter(pl.col("naming") != "one per athlete")
        ours, sets, slope = (equal.row(by_predicate=pl.col("method") == m, named=True) for m in METHODS)
        told = found.calibration.row(0, named=True)
        rows.append(
            {
                "world": name,
                "groups": told["groups"],
                "base_rate": told["base_rate"],
                "named": ours["named"],
                "precision": ours["precision"],
                "recall": ours["recall"],
                "slope_precision": slope["precision"],
                "sets_precision": sets["precision"],
                "auc": ours["auc"],
                "slope_auc": slope["auc"],
                "sets_auc": sets["auc"],
                "calibration_slope": told["slope"],
                "brier": told["brier"],
                "brier_base": told["brier_base"],
                "expected_error": told["expected_error"],
            }
        )
    return pl.DataFrame(rows)
