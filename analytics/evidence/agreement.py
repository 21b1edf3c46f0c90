"""Agreement: how well states told week by week agree with the truth of a simulated roster."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import polars as pl
from numpy.typing import NDArray
from scipy.stats import rankdata

from analytics.simulate.world import Simulated

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

FEWEST_SESSIONS = 6
WEEKS_AFTER = (4, 6, 8, 12)
FALSE_ALARMS = 0.05


@dataclass(frozen=True, kw_only=True)
class Detection:
    """Figures of one score.  `auc` by weeks after onset; shares from 0 to 1; nan where there were no
    cases.
    """

    auc: dict[int, float]
    flagged: dict[int, float]
    false_alarms: float
    false_names: float


def lift_weeks(history: pl.DataFrame, sessions: pl.DataFrame, simulated: Simulated) -> pl.DataFrame:
    """One row per lift and week of `history` with the truth beside it.

    Adds `sessions_so_far`, `progressing` (truth), `true_slope`, `pace` (the slope of its progress, now or
    last), and `weeks_after`: whole weeks since the lift left progress, null while it progresses or if it
    never did before.
    """
    lift = ["athlete", "exercise"]
    truth = (
        simulated.truth_lifts.sort(*lift, "week_end")
        .with_columns(progressing=pl.col("regime") == "progressing")
        .with_columns(
            progressed=pl.col("progressing").cum_max().over(lift),
            run=pl.col("progressing").rle_id().over(lift),
        )
        .with_columns(in_run=pl.int_range(1, pl.len() + 1).over([*lift, "run"]))
        .with_columns(
            weeks_after=pl.when(~pl.col("progressing") & pl.col("progressed")).then(pl.col("in_run")),
            pace=pl.when("progressing").then("slope_pct_per_week").forward_fill().over(lift),
            left_on=pl.when(~pl.col("progressing")).then(
                pl.col("week_end") - pl.duration(days=7 * pl.col("in_run"))
            ),
        )
        .select(
            *lift,
            "week_end",
            "progressing",
            "weeks_after",
            "regime",
            "left_on",
            "run",
            "pace",
            true_slope="slope_pct_per_week",
            true_kg="strength_kg",
        )
    )
    counts = (
        sessions.select(*lift, "date")
        .sort("date")
        .with_columns(sessions_so_far=pl.int_range(1, pl.len() + 1).over(lift))
    )
    return (
        history.join(truth, on=[*lift, "week_end"])
        .sort("week_end")
        .join_asof(counts, left_on="week_end", right_on="date", by=lift, check_sortedness=False)
        .filter(pl.col("sessions_so_far") >= FEWEST_SESSIONS)
        .drop("date")
        .sort(*lift, "week_end")
    )


def area_under_curve(score: Floats, positive: Bools) -> float:
    """Chance that a positive has the higher score than a negative, ties counting half; nan without both."""
    ones = int(positive.sum())
    zeros = len(positive) - ones
    if not ones or not zeros:
        return float("nan")
    return float((rankdata(score)[positive].sum() - ones * (ones + 1) / 2) / (ones * zeros))


def detection(rows: pl.DataFrame, score: str, threshold: float | None = None) -> Detection:
    """Figures of the column `score` (higher: less likely to progress) on rows of ``lift_weeks``.

    `threshold` flags a lift-week; without one it is set where 5 % of progressing lift-weeks are flagged,
    which flatters a little: take it from other seeds with ``threshold_for``.
    """
    value = rows[score].to_numpy()
    progressing = rows["progressing"].to_numpy()
    after = rows["weeks_after"].fill_null(0).to_numpy()
    limit = threshold_for(rows, score) if threshold is None else threshold
    auc = {
        k: area_under_curve(value[progressing | (after == k)], ~progressing[progressing | (after == k)])
        for k in WEEKS_AFTER
    }
    flags = rows.with_columns(flagged=pl.Series(value >= limit))
    runs = (
        flags.filter(pl.col("weeks_after").is_not_null())
        .group_by("athlete", "exercise", "run")
        .agg(
            last=pl.col("weeks_after").max(),
            **{f"by_{k}": (pl.col("flagged") & (pl.col("weeks_after") <= k)).any() for k in (8, 12)},
        )
    )
    flagged = {k: _share(runs.filter(pl.col("last") >= k)[f"by_{k}"]) for k in (8, 12)}
    named = flags.filter(pl.col("flagged"))
    return Detection(
        auc=auc,
        flagged=flagged,
        false_alarms=_share(flags.filter("progressing")["flagged"]),
        false_names=_share(named["progressing"]),
    )


def threshold_for(rows: pl.DataFrame, score: str, false_alarms: float = FALSE_ALARMS) -> float:
    """Score above which this share of progressing lift-weeks lies."""
    value = rows.filter("progressing")[score].to_numpy()
    return float(np.nextafter(np.quantile(value, 1 - false_alarms), np.inf))


def _share(flags: pl.Series) -> float:
    return float(flags.to_numpy().mean()) if len(flags) else float("nan")


@dataclass(frozen=True, kw_only=True)
class Reliability:
    """Calibration of the probability of not progressing; see ``reliability``."""

    brier: float
    skill: float
    slope: float
    expected_error: float
    bins: pl.DataFrame


def reliability(chance: Floats, happened: Bools, bins: int = 10) -> Reliability:
    """Brier score and its skill over the base rate, calibration slope (logistic on the log-odds), and the

    expected calibration error over bins of equal counts.
    """
    y = happened.astype(float)
    brier = float(np.mean((chance - y) ** 2))
    base = float(y.mean() * (1 - y.mean()))
    order = np.argsort(chance, kind="stable")
    parts = np.array_split(order, bins)
    table = pl.DataFrame(
        {
            "said": [float(chance[p].mean()) for p in parts],
            "happened": [float(y[p].mean()) for p in parts],
            "lift_weeks": [len(p) for p in parts],
        }
    )
    gap = (table["said"] - table["happened"]).abs() * table["lift_weeks"]
    return Reliability(
        brier=brier,
        skill=1 - brier / base if base else float("nan"),
        slope=_logistic_slope(np.log(chance / (1 - chance)), y),
        expected_error=float(gap.sum()) / len(y),
        bins=table,
    )


def _logistic_slope(x: Floats, y: Floats) -> float:
    """Slope of a logistic regression of y on x with an intercept, by Newton's method."""
    design = np.column_stack([np.ones_like(x), x])
    beta = np.array([0.0, 1.0])
    for _ in range(50):
        p = 1 / (1 + np.exp(-design @ beta))
        step = np.linalg.solve((design * (p * (1 - p))[:, None]).T @ design, design.T @ (y - p))
        beta = beta + step
        if np.abs(step).max() < 1e-10:
            break
    return float(beta[1])
