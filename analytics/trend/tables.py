"""Tables: regime probabilities and levels become the tables of lifts, families, history and lines."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.trend import certainty
from analytics.trend.calibration import Calibration
from analytics.trend.correction import Corrected
from analytics.trend.filter import Filtered
from analytics.trend.intervals import Z80, change_sd, lasting_sd
from analytics.trend.model import Model
from analytics.trend.onset import present_state
from analytics.trend.regimes import CLASSES, Regimes
from analytics.trend.series import EPOCH, Series, days_of
from analytics.trend.why import Evidence, sentence

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SURE = 0.6
FORECAST_WEEKS = 4
HISTORY_IDLE_WEEKS = 12
"""A lift's history stops this long after its last session."""


@dataclass(frozen=True, kw_only=True)
class Judged:
    """One filter run at its checkpoints, and what the correction made of it.

    `told` has shape (groups, checkpoints); `regime` are regime probabilities that agree with it.
    """

    series: Series
    filtered: Filtered
    told: Corrected
    regime: Floats
    checkpoints: Ints
    regimes: Regimes
    model: Model
    calibration: Calibration
    as_of: date


def as_known(judged: Judged, day: date) -> Judged:
    """The same run as it stood on an earlier checkpoint: nothing later is left in it.

    The forward pass knows no later rows, so this is what a run of that day would have told, to the last bit.
    """
    ends = 1 + int(np.flatnonzero(judged.checkpoints == (day - EPOCH).days)[0])
    told, filtered = judged.told, judged.filtered
    return replace(
        judged,
        series=replace(judged.series, rows=judged.series.rows.filter(pl.col("date") <= day)),
        filtered=replace(filtered, level=filtered.level[:, :ends], level_var=filtered.level_var[:, :ends]),
        told=Corrected(
            chance=told.chance[:, :ends],
            slope=told.slope[:, :ends],
            slope_sd=told.slope_sd[:, :ends],
            weeks_since=told.weeks_since[:, :ends],
        ),
        regime=judged.regime[:, :ends],
        checkpoints=judged.checkpoints[:ends],
        as_of=day,
    )


def state_table(judged: Judged) -> pl.DataFrame:
    """One row per regime group that has begun: the columns that lifts and families share, and `head`, the
    series it is shown by.
    """
    rows, regimes = judged.series.rows, judged.regimes
    groups, heads = _groups(rows, judged.as_of)
    begun = groups["group"].to_numpy().astype(np.intp)
    chance = judged.told.chance[begun, -1]
    slope, slope_sd = judged.told.slope[begun, -1], judged.told.slope_sd[begun, -1]
    best, chance_of_best, began = present_state(
        judged.regime[begun],
        judged.checkpoints,
        days_of(groups["first_date"]),
        regimes,
        judged.told.weeks_since[begun, -1],
    )
    sure = chance_of_best >= SURE
    as_of_day = (judged.as_of - EPOCH).days

    width = judged.calibration
    half = Z80 * width.slope_width * slope_sd
    level = judged.filtered.level[heads, -1]
    lasting = lasting_sd(groups["exposure"].to_numpy(), 1 - groups["rir_share"].to_numpy())
    sd = np.hypot(np.sqrt(judged.filtered.level_var[heads, -1]), lasting)
    ahead = level + FORECAST_WEEKS * slope
    ahead_sd = np.hypot(sd, width.change_width * change_sd(slope_sd, FORECAST_WEEKS, judged.model))
    wide, wide_ahead = Z80 * width.strength_width, Z80 * width.forecast_width
    weeks = (as_of_day - began) / 7
    since = [EPOCH + timedelta(days=int(d)) if ok else None for d, ok in zip(began, sure, strict=True)]
    table = groups.with_columns(
        head=pl.Series(heads),
        strength_kg=pl.Series(np.exp(level)),
        strength_low_kg=pl.Series(np.exp(level - wide * sd)),
        strength_high_kg=pl.Series(np.exp(level + wide * sd)),
        slope_pct_per_week=pl.Series(100 * slope),
        slope_low=pl.Series(100 * (slope - half)),
        slope_high=pl.Series(100 * (slope + half)),
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
        )
        .sort("group")
    )
    # Groups that have not begun by this day have no rows: the others keep their numbers, so count anew.
    index = np.unique(rows["group"].to_numpy(), return_inverse=True)[1]
    counts = groups["sessions"].to_numpy()
    means = {
        name: pl.Series(np.bincount(index, weights=rows[column].to_numpy()) / counts)
        for name, column in (
            ("noise", "log_noise"),
            ("rir_share", "rir_share"),
            ("exposure", "curve_exposure"),
        )
    }
    groups = groups.with_columns(**means)
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
    chance = judged.told.chance[:, :width].reshape(count * width, 3)
    table = pl.DataFrame(
        {
            "series": np.repeat(lifts["series"].to_numpy(), width),
            "week_end": pl.Series(weeks * count, dtype=pl.Date),
            "strength_kg": np.exp(judged.filtered.level[:, :width].ravel()),
            "slope_pct_per_week": 100 * judged.told.slope[:, :width].ravel(),
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
