"""Evidence report: the figures of one world or many, as tables for the method notebook and the developers.

``python -m analytics.simulate.evidence_report`` prints them for all worlds (some minutes on one core).
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.simulate import evidence
from analytics.simulate.evidence_fit import simulate_named
from analytics.simulate.evidence_rules import RULES, SCORES, rule_scores
from analytics.simulate.world import LAST_DAY, Simulated
from analytics.strength import estimate_sessions
from analytics.trend.correction import Network, network_from
from analytics.trend.judge import judge
from analytics.trend.onset import present_state
from analytics.trend.regimes import PROGRESSING
from analytics.trend.series import days_of, make_series, week_ends
from analytics.trend.slopes import slope_mean, slope_quantile
from analytics.trend.tables import SURE, Z80, Judged, change_sd, history_table

Floats = NDArray[np.float64]

LIFT = ["athlete", "exercise"]
JUDGED = ("trend", "filter_alone")
CHANGE_WEEKS = (4, 8)


@dataclass(frozen=True, kw_only=True)
class Case:
    """One simulated roster, judged: `rows` as ``evidence.lift_weeks`` with every score as a column."""

    name: str
    simulated: Simulated
    sessions: pl.DataFrame
    judged: Judged
    rows: pl.DataFrame


def make_case(name: str, athletes: int, weeks: int, seed: int, network: Network | None = None) -> Case:
    """Simulate a world by name, judge it week by week, and put every rule beside it."""
    simulated = simulate_named(name, athletes, weeks, seed)
    sessions = estimate_sessions(simulated.sets)
    ends = week_ends(min(sessions["date"].to_list()), LAST_DAY)
    judged = judge(make_series(sessions, simulated.calendar, "exercise"), ends, LAST_DAY, network)
    history = history_table(judged, ends).with_columns(trend=1 - pl.col("p_progressing"))
    alone = pl.DataFrame(
        {
            "series": np.repeat(judged.series.lifts["series"].to_numpy(), len(ends)),
            "week_end": pl.Series(ends * len(judged.series.lifts), dtype=pl.Date),
            "filter_alone": 1
            - (judged.filtered.regime @ judged.regimes.of_class())[:, : len(ends), PROGRESSING].ravel(),
        }
    )
    history = history.join(alone, on=["series", "week_end"], maintain_order="left")
    rows = evidence.lift_weeks(history, sessions, simulated).join(
        rule_scores(sessions, LAST_DAY), on=[*LIFT, "week_end"], how="left", maintain_order="left"
    )
    return Case(name=name, simulated=simulated, sessions=sessions, judged=judged, rows=rows)


def detection_table(case: Case, other: Case) -> pl.DataFrame:
    """One row per judgement, score and rule; thresholds for 5 % false alarms come from `other` (other
    seeds).
    """
    found = []
    for name in (*JUDGED, *SCORES, *RULES):
        threshold = 0.5 if name in RULES else evidence.threshold_for(other.rows, name)
        figures = evidence.detection(case.rows, name, threshold)
        found.append(
            {
                "world": case.name,
                "score": name,
                **{f"auc_{k}_weeks": figures.auc[k] for k in evidence.WEEKS_AFTER},
                **{f"flagged_{k}_weeks": figures.flagged[k] for k in (8, 12)},
                "false_alarms": figures.false_alarms,
                "false_names": figures.false_names,
            }
        )
    return pl.DataFrame(found)


def reliability_table(case: Case) -> pl.DataFrame:
    """One row: Brier score, skill over the base rate, calibration slope and expected calibration error."""
    chance = np.clip(case.rows["trend"].to_numpy(), 1e-6, 1 - 1e-6)
    found = evidence.reliability(chance, ~case.rows["progressing"].to_numpy())
    return pl.DataFrame(
        {
            "world": [case.name],
            "lift_weeks": [len(case.rows)],
            "base_rate": [1 - float(case.rows["progressing"].to_numpy().mean())],
            "brier": [found.brier],
            "skill": [found.skill],
            "calibration_slope": [found.slope],
            "calibration_error": [found.expected_error],
        }
    )


def coverage_table(case: Case) -> pl.DataFrame:
    """Share of truths inside the 80 % intervals told beforehand, one row."""
    judged, regimes = case.judged, case.judged.regimes
    width = judged.calibration
    ends = week_ends(min(case.sessions["date"].to_list()), LAST_DAY)
    keys = case.rows.select(*LIFT, "week_end", "true_slope", "true_kg").join(judged.series.lifts, on=LIFT)
    column = pl.DataFrame({"week_end": pl.Series(ends, dtype=pl.Date)}).with_row_index("column")
    keys = keys.join(column, on="week_end").sort("series", "week_end")
    at = keys["series"].to_numpy(), keys["column"].to_numpy()
    regime = judged.regime[at]
    slope = slope_mean(regime, regimes)
    low = slope + (slope_quantile(regime, regimes, 0.1) - slope) * width.slope_width
    high = slope + (slope_quantile(regime, regimes, 0.9) - slope) * width.slope_width
    true_slope = keys["true_slope"].to_numpy() / 100
    found = {"world": case.name, "slope": _share((low <= true_slope) & (true_slope <= high))}
    level, sd = judged.filtered.level[at], np.sqrt(judged.filtered.level_var[at])
    miss = np.log(keys["true_kg"].to_numpy()) - level
    found["strength"] = _share(np.abs(miss) <= Z80 * width.strength_width * sd)
    later = keys.select(*LIFT, "week_end", "true_kg")
    for weeks in CHANGE_WEEKS:
        ahead = keys.with_columns(then=pl.col("week_end") + pl.duration(days=7 * weeks)).join(
            later, left_on=[*LIFT, "then"], right_on=[*LIFT, "week_end"], how="left", maintain_order="left"
        )
        change = np.log(
            ahead["true_kg_right"].cast(pl.Float64).fill_null(np.nan).to_numpy() / ahead["true_kg"].to_numpy()
        )
        known = np.isfinite(change)
        half = Z80 * width.change_width * change_sd(regime, weeks, regimes, judged.model)
        found[f"change_{weeks}_weeks"] = _share((np.abs(change - weeks * slope) <= half)[known])
    return pl.DataFrame([found])


def onset_table(case: Case, weeks_after: int = 12) -> pl.DataFrame:
    """Error of `since` told `weeks_after` weeks after the onset, over lifts told to have stalled or to
    regress.
    """
    judged = case.judged
    first = judged.series.rows.group_by("series").agg(pl.col("date").min()).sort("series")
    first_day = days_of(first["date"])
    cases = case.rows.filter(pl.col("weeks_after") == weeks_after).join(judged.series.lifts, on=LIFT)
    errors = []
    for (end,), group in cases.sort("week_end").group_by("week_end", maintain_order=True):
        column = int(np.searchsorted(judged.checkpoints, days_of(pl.Series([end]))[0]))
        series = group["series"].to_numpy()
        best, chance, began = present_state(
            judged.regime[series, : column + 1],
            judged.checkpoints[: column + 1],
            first_day[series],
            judged.regimes,
        )
        named = (best != PROGRESSING) & (chance >= SURE)
        errors.append(((began - days_of(group["left_on"])) / 7)[named])
    told = np.concatenate(errors) if errors else np.zeros(0)
    return pl.DataFrame(
        {
            "world": [case.name],
            "onsets": [len(cases)],
            "named": [len(told)],
            "median_error_weeks": [float(np.median(np.abs(told))) if len(told) else None],
            "median_lateness_weeks": [float(np.median(told)) if len(told) else None],
        }
    )


def _share(inside: NDArray[np.bool_]) -> float:
    return float(inside.mean()) if len(inside) else float("nan")


def main() -> None:
    """Print every table for every world."""
    from analytics.simulate.unlike import UNLIKE

    network = network_from(Path(sys.argv[1]).read_text(encoding="utf-8"), "lifts") if sys.argv[1:] else None
    tables: dict[str, list[pl.DataFrame]] = {}
    for name in ("default", *sorted(UNLIKE)):
        case, other = (make_case(name, 100, 52, seed, network) for seed in (1, 2))
        for title, table in (
            ("detection", detection_table(case, other)),
            ("reliability", reliability_table(case)),
            ("coverage", coverage_table(case)),
            ("onset", onset_table(case)),
        ):
            tables.setdefault(title, []).append(table)
    with pl.Config(tbl_rows=200, tbl_cols=20, tbl_width_chars=160, float_precision=3):
        for title, parts in tables.items():
            print(title, pl.concat(parts, how="vertical_relaxed"), sep="\n")


if __name__ == "__main__":
    main()
