"""Report: the figures of one world or many, as tables for the method notebook and the developers.

``python -m analytics.evidence.report DIR`` writes them for all worlds as CSV files (a minute or
two).
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.evidence import agreement
from analytics.evidence.intervals import interval_ratios
from analytics.evidence.rules import RULES, SCORES, rule_scores
from analytics.evidence.worlds import known_phases, simulate_named
from analytics.simulate.unlike import UNLIKE
from analytics.simulate.world import LAST_DAY, Simulated
from analytics.strength import estimate_sessions
from analytics.trend.correction import Network, network_from
from analytics.trend.judge import judge
from analytics.trend.onset import present_state
from analytics.trend.regimes import PROGRESSING
from analytics.trend.series import NO_PHASES, days_of, make_series, week_ends
from analytics.trend.tables import SURE, Judged, history_table

Floats = NDArray[np.float64]

ATHLETES, WEEKS = 100, 52
PLANLESS = " without phases"
WORLDS = ("yardstick", "default", f"default{PLANLESS}", *sorted(UNLIKE), f"diets{PLANLESS}")
LIFT = ["athlete", "exercise"]
JUDGED = ("trend", "filter_alone")
PACES = ((0.0, 0.1), (0.1, 0.25), (0.25, 0.6), (0.6, 9.0))
"""Bands of true progress, % a week."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """One simulated roster, judged: `rows` as ``agreement.lift_weeks`` with every score as a column."""

    name: str
    simulated: Simulated
    sessions: pl.DataFrame
    judged: Judged
    rows: pl.DataFrame


def make_case(name: str, athletes: int, weeks: int, seed: int, network: Network | None = None) -> Case:
    """Simulate a world by name, judge it week by week, and put every rule beside it.

    Most athletes' phases are declared (``worlds.known_phases``), or nobody's with PLANLESS behind the name.
    """
    simulated = simulate_named(name.removesuffix(PLANLESS), athletes, weeks, seed)
    phases = known_phases(simulated, np.random.default_rng([seed, 11]))
    sessions = estimate_sessions(simulated.sets)
    ends = week_ends(min(sessions["date"].to_list()), LAST_DAY)
    plans = NO_PHASES if name.endswith(PLANLESS) else phases
    judged = judge(make_series(sessions, simulated.calendar, "exercise", plans), ends, LAST_DAY, network)
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
    rows = agreement.lift_weeks(history, sessions, simulated).join(
        rule_scores(sessions, LAST_DAY), on=[*LIFT, "week_end"], how="left", maintain_order="left"
    )
    return Case(name=name, simulated=simulated, sessions=sessions, judged=judged, rows=rows)


def detection_table(case: Case, other: Case) -> pl.DataFrame:
    """One row per judgement, score and rule; thresholds for 5 % false alarms come from `other` (other
    seeds).
    """
    found = []
    for name in (*JUDGED, *SCORES, *RULES):
        threshold = 0.5 if name in RULES else agreement.threshold_for(other.rows, name)
        figures = agreement.detection(case.rows, name, threshold)
        found.append(
            {
                "world": case.name,
                "score": name,
                **{f"auc_{k}_weeks": figures.auc[k] for k in agreement.WEEKS_AFTER},
                **{f"flagged_{k}_weeks": figures.flagged[k] for k in (8, 12)},
                "false_alarms": figures.false_alarms,
                "false_names": figures.false_names,
            }
        )
    return pl.DataFrame(found)


def pace_table(case: Case, weeks_after: int = 8) -> pl.DataFrame:
    """AUC of `trend` by how fast the lift progresses, or did before it stopped: slow progress hides its
    end.
    """
    rows = case.rows.filter(pl.col("progressing") | (pl.col("weeks_after") == weeks_after))
    found = []
    for low, high in PACES:
        band = rows.filter(pl.col("pace") >= low, pl.col("pace") < high)
        positive = ~band["progressing"].to_numpy()
        found.append(
            {
                "world": case.name,
                "pct_per_week_from": low,
                "to": high,
                "onsets": int(positive.sum()),
                "auc": agreement.area_under_curve(band["trend"].to_numpy(), positive),
            }
        )
    return pl.DataFrame(found)


def reliability_bins(case: Case) -> pl.DataFrame:
    """Told probability of no progress beside how often it was true, in tenths of the lift-weeks."""
    chance = np.clip(case.rows["trend"].to_numpy(), 1e-6, 1 - 1e-6)
    found = agreement.reliability(chance, ~case.rows["progressing"].to_numpy())
    return found.bins.with_columns(world=pl.lit(case.name))


def reliability_table(case: Case) -> pl.DataFrame:
    """One row: Brier score, skill over the base rate, calibration slope and expected calibration error."""
    chance = np.clip(case.rows["trend"].to_numpy(), 1e-6, 1 - 1e-6)
    found = agreement.reliability(chance, ~case.rows["progressing"].to_numpy())
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
    ends = week_ends(min(case.sessions["date"].to_list()), LAST_DAY)
    ratios = interval_ratios(case.judged, case.rows, ends)
    shares = {kind: float((np.abs(ratio) <= 1).mean()) for kind, ratio in ratios.items()}
    return pl.DataFrame([{"world": case.name, **shares}])


def onset_table(case: Case, threshold: float, weeks_after: int = 12) -> pl.DataFrame:
    """Error of the told onset, `weeks_after` weeks after the true one, over the lifts flagged by then.

    `threshold` flags a lift (5 % false alarms); `named` counts those whose state would be told as sure.
    """
    judged = case.judged
    first = judged.series.rows.group_by("series").agg(pl.col("date").min()).sort("series")
    first_day = days_of(first["date"])
    cases = case.rows.filter(pl.col("weeks_after") == weeks_after).join(judged.series.lifts, on=LIFT)
    errors, sure = [], 0
    for (end,), group in cases.sort("week_end").group_by("week_end", maintain_order=True):
        column = int(np.searchsorted(judged.checkpoints, days_of(pl.Series([end]))[0]))
        series = group["series"].to_numpy()
        best, chance, began = present_state(
            judged.regime[series, : column + 1],
            judged.checkpoints[: column + 1],
            first_day[series],
            judged.regimes,
            judged.told.weeks_since[series, column],
        )
        sure += int(((best != PROGRESSING) & (chance >= SURE)).sum())
        flagged = (best != PROGRESSING) & (group["trend"].to_numpy() >= threshold)
        errors.append(((began - days_of(group["left_on"])) / 7)[flagged])
    told = np.concatenate(errors) if errors else np.zeros(0)
    return pl.DataFrame(
        {
            "world": [case.name],
            "onsets": [len(cases)],
            "flagged": [len(told)],
            "named": [sure],
            "median_error_weeks": [float(np.median(np.abs(told))) if len(told) else None],
            "median_lateness_weeks": [float(np.median(told)) if len(told) else None],
        }
    )


def main() -> None:
    """Write every table, all worlds in one, into the folder named first; a second name is another
    correction.
    """
    folder, apart = Path(sys.argv[1]), sys.argv[2:]
    network = network_from(Path(apart[0]).read_text(encoding="utf-8"), "lifts") if apart else None
    tables: dict[str, list[pl.DataFrame]] = {}
    for name in WORLDS:
        case, other = (make_case(name, ATHLETES, WEEKS, seed, network) for seed in (1, 2))
        for title, table in (
            ("detection", detection_table(case, other)),
            ("pace", pace_table(case)),
            ("reliability", reliability_table(case)),
            ("coverage", coverage_table(case)),
            ("onset", onset_table(case, agreement.threshold_for(other.rows, "trend"))),
        ):
            tables.setdefault(title, []).append(table)
    folder.mkdir(parents=True, exist_ok=True)
    for title, parts in tables.items():
        pl.concat(parts, how="vertical_relaxed").write_csv(folder / f"{title}.csv", float_precision=4)


if __name__ == "__main__":
    main()
