"""Features: what is known of each lift at each week's end, as inputs of the correction, on arrays.

Every column at a week depends on that week and earlier ones alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.trend import scores
from analytics.trend.beliefs import Observations
from analytics.trend.filter import Filtered
from analytics.trend.kinks import find_kinks
from analytics.trend.phases import Plans
from analytics.trend.regimes import PROGRESSING, REGRESSING, Regimes
from analytics.trend.slopes import slope_mean, slope_var, times

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

WINDOWS = (4, 8, 12, 20)
LAGS = (4, 8, 12)
BEFORE = ((12, 8), (20, 8), (20, 12))
"""Slopes of earlier stretches: their length, and how many weeks ago they ended."""
CONTRASTS = ((1, 2, 7), (3, 4, 11), (5, 6, 15))
"""Mean of the newest weeks (0 to first) less the mean of earlier ones (second to third)."""


@dataclass(frozen=True, kw_only=True)
class Features:
    """`values` has shape (groups, weeks, columns), nan where undefined; `names` names the columns."""

    names: tuple[str, ...]
    values: Floats


@dataclass(frozen=True, kw_only=True)
class Setting:
    """Where lifts stand: `week` of each session, `athlete` of each group, the athletes' `plans`."""

    week: Ints
    athlete: Ints
    plans: Plans


def regime_features(
    filtered: Filtered, observed: Observations, setting: Setting, regimes: Regimes
) -> Features:
    """Columns that need regime probabilities only, one row per group."""
    regime, week, athlete = filtered.regime, setting.week, setting.athlete
    shape = regime.shape[:2]
    group = observed.group
    chance = times(regime, regimes.of_class())
    clear = np.clip(chance, 1e-4, 1 - 1e-4)
    found = {
        "log_odds": np.log1p(-clear[..., PROGRESSING]) - np.log(clear[..., PROGRESSING]),
        "log_regressing": np.log(clear[..., REGRESSING]),
        "slope": slope_mean(regime, regimes),
        "slope_sd": np.sqrt(np.maximum(slope_var(regime, regimes), 0)),
    }
    for lag in LAGS:
        found[f"slope_{lag}_ago"] = _ago(found["slope"], lag)
    count = np.zeros(shape)
    np.add.at(count, (group, week), 1.0)
    so_far = np.cumsum(count, axis=1)
    found["log_sessions"] = np.log1p(so_far)
    started = so_far > 0
    found["sessions_a_week"] = scores.window_mean(np.where(started, count, np.nan), 0, 3)
    found["log_weeks"] = np.log1p(np.cumsum(started, axis=1))
    found["weeks_idle"] = scores.weeks_since(count > 0)
    for name, values in (("unlogged", observed.unlogged), ("exposure", observed.exposure)):
        total = np.zeros(shape)
        np.add.at(total, (group, week), values)
        found[name] = np.cumsum(total, axis=1) / np.maximum(so_far, 1)
    usable = so_far >= scores.FEWEST_FOR_OTHERS
    for name in ("log_odds", "slope"):
        found[f"past_{name}"] = _so_far(found[name], usable)
    for name in ("log_odds", "slope", "past_log_odds", "past_slope"):
        found[f"others_{name}"] = _others(found[name], usable, athlete)
    plans = setting.plans
    found["plan_known"], found["diet"] = plans.known[athlete], plans.diet[athlete]
    found["log_weeks_in_diet"] = np.log1p(plans.weeks_in[athlete])
    found["log_weeks_after_diet"] = np.log1p(plans.weeks_after[athlete])
    heir = (filtered.parent >= 0)[:, None] & started
    found["heir"] = heir.astype(float)
    found["parent_log_odds"] = np.where(heir, found["log_odds"][filtered.parent], np.nan)
    return Features(names=tuple(found), values=np.stack(list(found.values()), axis=-1))


def lift_features(
    filtered: Filtered,
    observed: Observations,
    top_load: Floats,
    setting: Setting,
    regimes: Regimes,
) -> Features:
    """All columns for single lifts (groups are series).  `top_load` is the log of each session's heaviest
    set.
    """
    few = regime_features(filtered, observed, setting, regimes)
    week, athlete = setting.week, setting.athlete
    found = {name: few.values[..., k] for k, name in enumerate(few.names)}
    shape = filtered.level.shape
    series = observed.series
    found["level_sd"] = np.sqrt(filtered.level_var)
    for lag in LAGS:
        found[f"level_gain_{lag}"] = filtered.level - _ago(filtered.level, lag, np.nan)
    courses = {
        "cleaned": scores.weekly_mean(
            series, week, filtered.cleaned, filtered.kept / filtered.cleaned_var, shape
        ),
        "best": scores.weekly_best(series, week, observed.value, shape),
        "load": scores.weekly_best(series, week, top_load, shape),
    }
    for name, value in courses.items():
        found[f"since_best_{name}"] = scores.weeks_since_best(value)
        for weeks in WINDOWS:
            slope, t = scores.window_slope(value, weeks)
            found[f"slope_{weeks}_{name}"], found[f"t_{weeks}_{name}"] = slope, t
        found[f"kendall_8_{name}"] = scores.mann_kendall(value, 8)
        for newest, first, last in CONTRASTS:
            found[f"gain_{newest}_{name}"] = scores.window_mean(value, 0, newest) - scores.window_mean(
                value, first, last
            )
    for weeks, lag in BEFORE:
        found[f"slope_{weeks}_cleaned_{lag}_ago"] = _ago(found[f"slope_{weeks}_cleaned"], lag, np.nan)
    ordinary = scores.weekly_mean(series, week, filtered.kept, np.ones(len(week)), shape)
    found["ordinary_share"] = scores.window_mean(ordinary, 0, 3)
    found["since_clear_best"] = scores.weeks_since_best(courses["best"], 0.01)
    one = np.ones(len(week))
    kinks = find_kinks(
        courses["cleaned"], scores.weekly_variance(series, week, filtered.kept / filtered.cleaned_var, shape)
    )
    found["kink_odds"], found["kink_rise"] = np.clip(kinks.odds, -8, 8), kinks.rise
    found["kink_log_turn"] = np.log1p(kinks.turn)
    rough = scores.weekly_mean(series, week, np.minimum(filtered.surprise**2, 9.0), one, shape)
    found["roughness"] = scores.window_mean(rough, 0, 11)
    noise = scores.weekly_mean(series, week, np.sqrt(filtered.cleaned_var), one, shape)
    found["noise"] = scores.window_mean(noise, 0, 11)
    error = scores.weekly_mean(series, week, filtered.surprise, one, shape)
    found["cusum"] = scores.cusum(error)
    usable = np.cumsum(np.isfinite(courses["cleaned"]), axis=1) >= scores.FEWEST_FOR_OTHERS
    for name in ("gain_3_cleaned", "gain_5_cleaned", "slope_8_cleaned", "kink_odds", "noise"):
        found[f"others_{name}"] = _others(found[name], usable, athlete)
    return Features(names=tuple(found), values=np.stack(list(found.values()), axis=-1))


def _ago(value: Floats, lag: int, fill: float | None = None) -> Floats:
    """The value `lag` weeks ago; before that the row's own first one, or `fill`."""
    if fill is None:
        first = np.argmax(np.isfinite(value), axis=1)
        known = np.arange(value.shape[1]) >= first[:, None]
        value = np.where(known, value, value[np.arange(len(value)), first][:, None])
        head = np.repeat(value[:, :1], min(lag, value.shape[1]), axis=1)
    else:
        head = np.full((len(value), min(lag, value.shape[1])), fill)
    return np.concatenate([head, value[:, :-lag]], axis=1)[:, : value.shape[1]]


def _so_far(value: Floats, usable: NDArray[np.bool_]) -> Floats:
    """Mean of a row up to each week, over usable weeks; nan before the first."""
    known = usable & np.isfinite(value)
    count = np.cumsum(known, axis=1)
    total = np.cumsum(np.where(known, value, 0.0), axis=1)
    return np.where(count > 0, total / np.maximum(count, 1), np.nan)


def _others(value: Floats, usable: NDArray[np.bool_], athlete: Ints) -> Floats:
    """Mean of the athlete's other lifts at the same week; nan without any."""
    known = np.isfinite(value) & usable
    total = np.zeros((int(athlete.max()) + 1, value.shape[1]))
    count = np.zeros(total.shape)
    np.add.at(total, athlete, np.where(known, value, 0))
    np.add.at(count, athlete, known.astype(float))
    others = count[athlete] - known
    return np.where(others > 0, (total[athlete] - np.where(known, value, 0)) / np.maximum(others, 1), np.nan)
