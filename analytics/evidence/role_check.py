"""Role check: how well inferred roles agree with the true ones of simulated logs, beside a simple rule."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain

import polars as pl

from analytics import schema
from analytics.evidence.role_habits import habit_logs
from analytics.intake.table.roles import assign_roles
from analytics.simulate.roster import simulate_roster
from analytics.simulate.world import World

_DEFAULT = World()
WORLDS: dict[str, World] = {
    "default": _DEFAULT,
    "no warm-ups logged": replace(_DEFAULT, warm_ups_logged_share=0.0),
    "rest always logged": replace(_DEFAULT, rest_logged_share=1.0),
    "no rest, no RIR": replace(_DEFAULT, rest_logged_share=0.0, rir_logging_share=0.0),
    "many drops": replace(_DEFAULT, drop_share=0.4, back_off_share=0.05),
    "many back-offs": replace(_DEFAULT, drop_share=0.05, back_off_share=0.4),
    "many pyramids": replace(_DEFAULT, pyramid_share=0.5),
    "noisy days": replace(_DEFAULT, day_sd=0.04, lift_sd=0.05, bad_day_share=0.1),
    "far from failure": replace(_DEFAULT, target_rir=(2.0, 5.0), rir_ramp_share=0.0),
}

OTHER = "other habits"


def unlabelled(sets: pl.DataFrame) -> pl.DataFrame:
    """The sets as a log that tells no roles: `role`, `role_source` and `chain` empty."""
    return sets.with_columns(
        role=pl.lit(None, pl.String), role_source=pl.lit(None, pl.String), chain=pl.lit(None, pl.Int32)
    )


def simple_rule(sets: pl.DataFrame) -> pl.DataFrame:
    """Roles by the rule "lighter than the heaviest of the exercise that day is a warm-up"."""
    lighter = pl.col("load_kg") < pl.col("load_kg").max().over("athlete", "date", "position") - 1e-9
    return sets.with_columns(role=pl.when(lighter).then(pl.lit("warm_up")).otherwise(pl.lit("working")))


def agreement(true: pl.Series, found: pl.Series) -> pl.DataFrame:
    """One row per role and one for all: `role, sets, precision, recall` (null: nothing to judge)."""
    table = pl.DataFrame({"true": true, "found": found})
    rows = []
    for role in schema.ROLES:
        is_true, is_found = pl.col("true") == role, pl.col("found") == role
        both, has, says = table.select(
            both=(is_true & is_found).sum(), has=is_true.sum(), says=is_found.sum()
        ).row(0)
        rows.append((role, has, both / says if says else None, both / has if has else None))
    right = table.select((pl.col("true") == pl.col("found")).mean()).item()
    rows.append(("all", table.height, right, right))
    return pl.DataFrame(rows, schema=["role", "sets", "precision", "recall"], orient="row")


def check_roles(worlds: dict[str, World], athletes: int, weeks: int, seed: int) -> pl.DataFrame:
    """Accuracy per world and, last, on ``role_habits``: one row each, `world, sets, all, simple_rule` and
    precision and recall of every role."""
    logs = ((name, simulate_roster(world, athletes, weeks, seed).sets) for name, world in worlds.items())
    return pl.DataFrame(
        [_figures(name, sets) for name, sets in chain(logs, [(OTHER, habit_logs(athletes, weeks, seed))])]
    )


def _figures(name: str, sets: pl.DataFrame) -> dict[str, object]:
    found = agreement(sets["role"], assign_roles(unlabelled(sets))["role"])
    simple = agreement(sets["role"], simple_rule(sets)["role"])
    figures: dict[str, object] = {"world": name, "sets": sets.height}
    figures |= {"all": found["recall"][-1], "simple_rule": simple["recall"][-1]}
    for role, precision, recall in found.select("role", "precision", "recall").iter_rows():
        if role != "all":
            figures |= {f"{role}_precision": precision, f"{role}_recall": recall}
    return figures
