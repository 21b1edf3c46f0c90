"""Tables: regime probabilities and levels become the tables of lifts, families, history and lines."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.trend import certainty
from analytics.trend.calibration import Calibration
from analytics.trend.filter import Filtered
from analytics.trend.model import Model
from analytics.trend.onset import present_state
from analytics.trend.regimes import CLASSES, Regimes
from analytics.trend.series import EPOCH, Series, days_of
from analytics.trend.slopes import slope_mean, slope_quantile, slope_var, times
from analytics.trend.why import Evidence, sentence

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SURE = 0.6
Z80 = 1.2816
FORECAST_WEEKS = 4
HISTORY_IDLE_WEEKS = 12
"""A lift's history stops this long after its last session."""


@dataclass(frozen=True, kw_only=True)
class Judged:
    """One filter run and its checkpoints; `regime` are the corrected probabilities (groups, checkpoints,
    regimes).
    """

    series: Series
    filtered: Filtered
    regime: Floats
    checkpoints: Ints
    regimes: Regimes
    model: Model
    calibration: Calibration
    as_of: date


def state_table(judged: Judged) -> pl.DataFrame:
    """One row per regime group: the columns that lifts and families share, and `head`, the series it is shown
    by.
    """
    rows, regimes = judged.series.rows, judged.regimes
    groups, heads = _groups(rows, judged.as_of)
    regime = judged.regime[:, -1]
    chance = times(regime, regimes.of_class())
    best, chance_of_best, began = present_state(
        judged.regime, judged.checkpoints, days_of(groups["first_date"]), regimes
    )
    sure = chance_of_best >= SURE
    as_of_day = (judged.as_of - EPOCH).days

    slope = slope_mean(regime, regimes)
    width = judged.calibration.slope_width
    low = slope + (slope_quantile(regime, regimes, 0.1) - slope) * width
    high = slope + (slope_quantile(regime, regimes, 0.9) - slope) * width
    level = judged.filtered.level[heads, -1]
    sd = np.sqrt(judged.filtered.level_var[heads, -1])
    ahead = level + FORECAST_WEEKS * slope
    ahead_sd = np.hypot(sd, change_sd(regime, FORECAST_WEEKS, regimes, judged.model))
    wide, wide_ahead = Z80 * judged.calibration.strength_width, Z80 * judged.calibration.forecast_width
    weeks = (as_of_day - began) / 7
    since = [EPOCH + timedelta(days=int(d)) if ok else None for d, ok in zip(began, sure, strict=True)]
    table = groups.with_columns(
        head=pl.Series(heads),
        strength_kg=pl.Series(np.exp(level)),
        strength_low_kg=pl.Series(np.exp(level - wide * sd)),
        strength_high_kg=pl.Series(np.exp(level + wide * sd)),
        slope_pct_per_week=pl.Series(100 * slope),
        slope_low=pl.Series(100 * low),
        slope_high=pl.Series(100 * high),
        **{f"p_{name}": pl.Series(chance[:, k]) for k, name in enumerate(CLASSES)},
        state=pl.Series([CLASSES[b] if ok else "unsure" for b, ok in zip(best, sure, strict=True)]),
        since=pl.Series(since, dtype=pl.Date),
        weeks_in_state=pl.Series(
            [w if ok else None for w, ok in zip(weeks, sure, strict=True)], dtype=pl.Float64
        ),
        forecast_kg=pl.Series(np.exp(ahead)),
        forecast_low_kg=pl.Series(np.exp(ahead - wide_ahead * ahead_sd)),
        forecast_high_kg=pl.Series(np.exp(ahead + wide_ahead * ahead_sd)),
    )
    return table.with_columns(why=pl.Series(_sentences(table, judged.model, judged.as_of), dtype=pl.String))


def change_sd(regime: Floats, weeks: float, regimes: Regimes, model: Model) -> Floats:
    """Standard deviation of the change of log-strength over the next `weeks` weeks."""
    return np.sqrt(weeks**2 * slope_var(regime, regimes) + weeks * model.level_var_per_week)


def _groups(rows: pl.DataFrame, as_of: date) -> tuple[pl.DataFrame, Ints]:
    """Per group: counts and dates; and the series it is shown by, the most trained one of the last eight
    weeks.
    """
    recent = pl.col("date") > as_of - timedelta(weeks=8)
    heads = (
        rows.group_by("group", "series")
        .agg(recent=recent.sum(), last=pl.col("date").max())
        .sort("group", "recent", "last", "series", descending=[False, True, True, False])
        .unique("group", keep="first", maintain_order=True)
    )
    groups = (
        rows.group_by("group")
        .agg(
            sessions=pl.len(),
            first_date=pl.col("date").min(),
            last_date=pl.col("date").max(),
            noise=pl.col("log_noise").mean(),
            rir_share=pl.col("rir_share").mean(),
        )
        .sort("group")
    )
    return groups, heads.sort("group")["series"].to_numpy().astype(np.intp)


def _sentences(table: pl.DataFrame, model: Model, as_of: date) -> list[str]:
    span = (table["last_date"] - table["first_date"]).dt.total_days().to_numpy() / 7
    per_week = table["sessions"].to_numpy() / np.maximum(span, 1)
    noise, share = table["noise"].to_numpy(), table["rir_share"].to_numpy()
    slope = table["slope_pct_per_week"].to_numpy() / 100
    one = np.ones(len(table))
    now = certainty.weeks_to_tell(slope, certainty.weekly_sd(noise, one, 1 - share, per_week, model))
    with_rir = certainty.weeks_to_tell(slope, certainty.weekly_sd(noise, one, 0 * share, per_week, model))
    found = []
    for k, row in enumerate(table.iter_rows(named=True)):
        found.append(
            sentence(
                Evidence(
                    state=row["state"],
                    sessions=row["sessions"],
                    weeks=span[k],
                    slope=row["slope_pct_per_week"],
                    slope_low=row["slope_low"],
                    slope_high=row["slope_high"],
                    chances=(row["p_progressing"], row["p_stalled"], row["p_regressing"]),
                    since=row["since"],
                    idle_weeks=(as_of - row["last_date"]).days / 7,
                    weeks_to_tell=int(now[k]),
                    weeks_to_tell_with_rir=int(with_rir[k]),
                    rir_share=row["rir_share"],
                )
            )
        )
    return found


def history_table(judged: Judged, weeks: list[date]) -> pl.DataFrame:
    """One row per lift and whole week, as known at that week's end (the runs' groups are lifts)."""
    lifts = judged.series.lifts
    span = judged.series.rows.group_by("series").agg(first=pl.col("date").min()).sort("series")
    count, width = len(lifts), len(weeks)
    regime = judged.regime[:, :width].reshape(count * width, -1)
    chance = times(regime, judged.regimes.of_class())
    table = pl.DataFrame(
        {
            "series": np.repeat(lifts["series"].to_numpy(), width),
            "week_end": pl.Series(weeks * count, dtype=pl.Date),
            "strength_kg": np.exp(judged.filtered.level[:, :width].ravel()),
            "slope_pct_per_week": 100 * slope_mean(regime, judged.regimes),
            **{f"p_{name}": chance[:, k] for k, name in enumerate(CLASSES)},
        }
    )
    latest = judged.series.rows.select("series", "date").sort("date")
    return (
        table.join(lifts, on="series")
        .join(span, on="series")
        .filter(pl.col("week_end") >= pl.col("first"))
        .sort("week_end")
        .join_asof(
            latest.rename({"date": "last"}),
            left_on="week_end",
            right_on="last",
            by="series",
            check_sortedness=False,
        )
        .filter((pl.col("week_end") - pl.col("last")).dt.total_days() <= 7 * HISTORY_IDLE_WEEKS)
    )
