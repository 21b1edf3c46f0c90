"""Parts: what each part of the method buys, by leaving it out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import polars as pl

from analytics import schema
from analytics.evidence import agreement
from analytics.evidence.worlds import simulate_named
from analytics.simulate.roster import simulate_roster
from analytics.simulate.world import LAST_DAY, Simulated, World
from analytics.strength import estimate_sessions
from analytics.trend.judge import judge
from analytics.trend.model import Model
from analytics.trend.series import make_series, week_ends
from analytics.trend.tables import history_table

USUAL = Model()
MODELS = {
    "whole method": USUAL,
    "without a day shared by the lifts": replace(USUAL, day_sd=1e-4),
    "without the personal curve": replace(USUAL, personal_curve_sd=1e-4),
    "without lasting effort": replace(USUAL, departure_sd_logged=1e-4, departure_sd_unlogged=1e-4),
    "without odd sessions": replace(USUAL, wide_chance=1e-6),
}


def parts_table(name: str, athletes: int, weeks: int, seed: int) -> pl.DataFrame:
    """AUC by weeks after onset for the whole method and with one part left out, one row each."""
    simulated = simulate_named(name, athletes, weeks, seed)
    sessions = estimate_sessions(simulated.sets)
    no_rir = estimate_sessions(simulated.sets.with_columns(rir=pl.lit(None, dtype=pl.Float64)))
    by_formula = estimate_sessions(simulated.sets, "epley")
    rows = [
        _figures(label, sessions, simulated.calendar, simulated, model) for label, model in MODELS.items()
    ]
    rows.append(_figures("without calendar entries", sessions, schema.CALENDAR.empty(), simulated, USUAL))
    rows.append(_figures("without logged RIR", no_rir, simulated.calendar, simulated, USUAL))
    rows.append(_figures("best set by Epley's formula", by_formula, simulated.calendar, simulated, USUAL))
    return pl.DataFrame([{"world": name, **row} for row in rows])


LOGGING = {
    "nobody logs RIR": World(rir_logging_share=0.0),
    "half of the athletes log it": World(),
    "everyone logs it": World(rir_logging_share=1.0, rir_forgotten_share=0.0),
    "everyone logs it truly": World(rir_logging_share=1.0, rir_forgotten_share=0.0, rir_bias=0.0, rir_sd=0.0),
}


def logging_table(athletes: int, weeks: int, seed: int) -> pl.DataFrame:
    """AUC by weeks after onset in the default world with more and more effort logged, one row each."""
    rows = []
    for label, world in LOGGING.items():
        simulated = simulate_roster(world, athletes, weeks, seed)
        sessions = estimate_sessions(simulated.sets)
        rows.append(_figures(label, sessions, simulated.calendar, simulated, USUAL))
    return pl.DataFrame(rows)


def _figures(
    label: str, sessions: pl.DataFrame, calendar: pl.DataFrame, simulated: Simulated, model: Model
) -> dict[str, object]:
    ends = week_ends(min(sessions["date"].to_list()), LAST_DAY)
    judged = judge(make_series(sessions, calendar, "exercise"), ends, LAST_DAY, model=model)
    history = history_table(judged, ends).with_columns(score=1 - pl.col("p_progressing"))
    rows = agreement.lift_weeks(history, sessions, simulated)
    figures = agreement.detection(rows, "score")
    chance = np.clip(rows["score"].to_numpy(), 1e-6, 1 - 1e-6)
    skill = agreement.reliability(chance, ~rows["progressing"].to_numpy()).skill
    return {"part": label, **{f"auc_{k}_weeks": v for k, v in figures.auc.items()}, "skill": skill}
