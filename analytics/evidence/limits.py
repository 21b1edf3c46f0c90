"""Limits: the judgement beside oracles that know more than any log holds, in worlds whose days are known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl

from analytics import schema
from analytics.evidence import agreement
from analytics.evidence.oracle import default_days, oracle_model, true_sessions
from analytics.evidence.report import Case, make_case
from analytics.simulate.world import LAST_DAY, World
from analytics.simulate.yardstick import simulate_yardstick
from analytics.trend.filter import run_filter
from analytics.trend.model import Model
from analytics.trend.regimes import PROGRESSING, default_regimes
from analytics.trend.series import EPOCH, make_series, week_ends

SPREAD_OF_A_DAY = {"yardstick": 0.022, "default": 0.025}
"""Worlds whose days are known, and what an athlete's lifts share on a day (standard deviation, bad days with
it).
"""
ORACLES = {"oracle": False, "oracle_that_knows_days": True}


@dataclass(frozen=True, kw_only=True)
class _Known:
    case: Case
    days: pl.DataFrame


def limits_table(name: str, athletes: int, weeks: int, seed: int) -> pl.DataFrame:
    """One row per judgement of a world in SPREAD_OF_A_DAY: AUC by weeks after onset, share flagged at 5 %
    false alarms (threshold from the next seed), and false names.

    `trend` is what is told, `filter_alone` the same without the correction; an oracle is that filter on the
    true strength of every trained day, so it too has to tell a slope from days that differ.
    """
    case, other = (_known(name, athletes, weeks, s) for s in (seed, seed + 1))
    found = []
    for score in ("trend", "filter_alone"):
        found.append(_row(name, score, case.case.rows, other.case.rows, score))
    for oracle, knows_days in ORACLES.items():
        rows, others = (_seen_through(known, name, knows_days) for known in (case, other))
        found.append(_row(name, oracle, rows, others, "told"))
    return pl.DataFrame(found)


def _known(name: str, athletes: int, weeks: int, seed: int) -> _Known:
    if name == "yardstick":
        days = simulate_yardstick(athletes, weeks, seed)[1]
    else:
        days = default_days(World(), athletes, weeks, seed)
    return _Known(case=make_case(name, athletes, weeks, seed), days=days)


def _seen_through(known: _Known, name: str, knows_days: bool) -> pl.DataFrame:
    """Rows of ``agreement.lift_weeks`` with `told`, the oracle's chance that a lift does not progress."""
    sessions = true_sessions(known.case.sessions, known.days, knows_days)
    series = make_series(sessions, schema.CALENDAR.empty(), "exercise")
    ends = week_ends(min(sessions["date"].to_list()), LAST_DAY)
    checkpoints = np.array([(end - EPOCH).days for end in ends], dtype=np.intp)
    regimes = default_regimes()
    model: Model = oracle_model(SPREAD_OF_A_DAY[name], knows_days)
    start = np.tile(regimes.prior, (len(series.groups), 1))
    filtered = run_filter(series.observed, checkpoints, regimes, model, start)
    told = 1 - (filtered.regime @ regimes.of_class())[..., PROGRESSING]
    table = pl.DataFrame(
        {
            "series": np.repeat(series.lifts["series"].to_numpy(), len(ends)),
            "week_end": pl.Series(ends * len(series.lifts), dtype=pl.Date),
            "told": told.ravel(),
        }
    ).join(series.lifts, on="series")
    kept = known.case.rows.select("athlete", "exercise", "week_end")
    rows = agreement.lift_weeks(table.filter(pl.col("told").is_not_nan()), sessions, known.case.simulated)
    return rows.join(kept, on=["athlete", "exercise", "week_end"], how="semi", maintain_order="left")


def _row(
    name: str, judgement: str, rows: pl.DataFrame, others: pl.DataFrame, score: str
) -> dict[str, object]:
    figures = agreement.detection(rows, score, agreement.threshold_for(others, score))
    return {
        "world": name,
        "judgement": judgement,
        **{f"auc_{k}_weeks": figures.auc[k] for k in agreement.WEEKS_AFTER},
        **{f"flagged_{k}_weeks": figures.flagged[k] for k in (8, 12)},
        "false_alarms": figures.false_alarms,
        "false_names": figures.false_names,
    }
