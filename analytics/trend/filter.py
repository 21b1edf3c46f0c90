"""Regime filter: one forward pass over the sessions of many lifts, day by day, on arrays.

Each lift carries, for every slope regime, a Gaussian belief about (log-strength, personal curve, departure).
Between sessions beliefs are mixed as the regimes switch (interacting multiple models: Blom & Bar-Shalom 1988,
IEEE Trans Autom Control 33:780-783); a session then weighs the regimes by how well each foresaw it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.trend.beliefs import Beliefs, Observations
from analytics.trend.measure import measure
from analytics.trend.model import Model
from analytics.trend.regimes import Regimes
from analytics.trend.slopes import times

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, kw_only=True)
class Filtered:
    """What the forward pass knew.

    At each checkpoint: probabilities `regime` (groups, checkpoints, regimes), and the mean and variance
    of log-strength `level`, `level_var` (series, checkpoints); nan before the first session.  At each
    session, shape (sessions,): `cleaned`, the value less what the day, the personal curve and a departure
    explain; `cleaned_var`, its variance; `day_effect` and `departure` themselves; `kept`, the probability
    that the session was an ordinary one; `surprise`, the standardised one-step-ahead error.  `curve`
    (series,) is the personal load-repetition curve as known at the end; `parent` (groups,) the group of the
    same family whose regimes a group began with, or -1.
    """

    regime: Floats
    level: Floats
    level_var: Floats
    cleaned: Floats
    cleaned_var: Floats
    day_effect: Floats
    departure: Floats
    kept: Floats
    surprise: Floats
    curve: Floats
    parent: Ints


PER_SESSION = ("cleaned", "cleaned_var", "day_effect", "departure", "kept", "surprise")

# Upper triangle of a symmetric 3 x 3 matrix, as rows of `cov`.
PAIRS = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))


def run_filter(
    observed: Observations, checkpoints: Ints, regimes: Regimes, model: Model, start: Floats
) -> Filtered:
    """One forward pass.  `checkpoints` are rising days; `start` the regime prior of each group, (groups,
    regimes).

    A checkpoint knows every session up to and including its day, and nothing later.
    """
    lifts, groups, count = int(observed.series.max()) + 1, len(start), len(regimes.slope)
    group_of = np.zeros(lifts, dtype=np.intp)
    group_of[observed.series] = observed.group
    now = Beliefs(
        mean=np.zeros((3, lifts, count)),
        cov=np.zeros((6, lifts, count)),
        regime=start.copy(),
        series_day=np.zeros(lifts, dtype=np.intp),
        group_day=np.full(groups, -1, dtype=np.intp),
        noise_weight=np.full(lifts, model.noise_prior_sessions),
        noise_sum=np.full(lifts, model.noise_prior_sessions),
        heir_of=np.full(int(observed.family.max()) + 1, -1, dtype=np.intp),
    )
    shape = (lifts, len(checkpoints))
    regime = np.full((groups, len(checkpoints), count), np.nan)
    level, level_var = np.full(shape, np.nan), np.full(shape, np.nan)
    per_session = {name: np.zeros(len(observed.day)) for name in PER_SESSION}
    days, firsts = np.unique(observed.day, return_index=True)
    ends = np.append(firsts[1:], len(observed.day))
    day_at = 0
    for column, until in enumerate(checkpoints):
        while day_at < len(days) and days[day_at] <= until:
            rows = slice(firsts[day_at], ends[day_at])
            for name, values in _one_day(now, observed, rows, regimes, model).items():
                per_session[name][rows] = values
            day_at += 1
        seen = np.flatnonzero(now.seen)
        weeks = (until - now.group_day[group_of[seen]]) / 7
        chance = switched(now.regime[group_of[seen]], weeks, regimes)[0]
        ahead = np.minimum((until - now.series_day[seen]) / 7, model.longest_drift_weeks)
        mean = now.mean[0, seen] + ahead[:, None] * regimes.slope
        begun = np.flatnonzero(now.group_day >= 0)
        since = (until - now.group_day[begun]) / 7
        regime[begun, column] = switched(now.regime[begun], since, regimes)[0]
        level[seen, column] = (chance * mean).sum(axis=1)
        level_var[seen, column] = (chance * (now.cov[0, seen] + mean**2)).sum(axis=1) - level[
            seen, column
        ] ** 2
    curve = (now.regime[group_of] * now.mean[1]).sum(axis=1)
    return Filtered(
        curve=curve, parent=now.parent, regime=regime, level=level, level_var=level_var, **per_session
    )


def switched(chance: Floats, weeks: Floats, regimes: Regimes) -> tuple[Floats, Floats, Floats]:
    """Regime probabilities `weeks` later, and their two parts: stayed, and left (by regime of origin)."""
    stay = np.exp(-weeks[:, None] * regimes.leave_per_week)
    stayed, left = chance * stay, chance * (1 - stay)
    return stayed + times(left, regimes.enter), stayed, left


def _one_day(
    now: Beliefs, observed: Observations, rows: slice, regimes: Regimes, model: Model
) -> dict[str, Floats]:
    series, group, day = observed.series[rows], observed.group[rows], int(observed.day[rows.start])
    starts = np.flatnonzero(np.diff(group, prepend=-1))
    row_group = np.cumsum(np.diff(group, prepend=-1) != 0) - 1
    groups = group[starts]
    begun = now.group_day[groups] >= 0
    weeks = np.where(begun, (day - now.group_day[groups]) / 7, 0.0)
    before = np.where(
        begun[:, None], now.regime[groups], _inherited(now, observed, rows, starts, regimes, model)
    )
    chance = switched(before, weeks, regimes)[0]
    mean, cov = _predict(now, observed, rows, before[row_group], regimes, model)
    seen = measure(mean, cov, chance[row_group], observed, rows, now, model)
    log_chance = np.log(chance) + np.add.reduceat(seen.log_likelihood, starts, axis=0)
    log_chance -= log_chance.max(axis=1, keepdims=True)
    chance = np.exp(log_chance)
    now.regime[groups] = chance / chance.sum(axis=1, keepdims=True)
    now.group_day[groups] = day
    now.sessions[groups] += 1
    ripe = now.sessions[groups] >= model.inherited_sessions
    now.heir_of[observed.family[rows][starts][ripe]] = groups[ripe]
    now.mean[:, series], now.cov[:, series] = seen.mean, seen.cov
    now.series_day[series] = day
    now.seen[series] = True
    now.noise_weight[series] += seen.noise_weight
    now.noise_sum[series] += seen.noise_sum
    return {name: getattr(seen, name) for name in PER_SESSION}


def _inherited(
    now: Beliefs, observed: Observations, rows: slice, starts: Ints, regimes: Regimes, model: Model
) -> Floats:
    """What new groups begin with: their prior, and for most of it the regimes of the family's present lift.

    A swap neither resets a trend nor counts as progress.
    """
    group, day = observed.group[rows][starts], int(observed.day[rows.start])
    prior = now.regime[group]
    parent = now.heir_of[observed.family[rows][starts]]
    weeks = (day - now.group_day[parent]) / 7
    heir = (now.group_day[group] < 0) & (parent >= 0) & (weeks <= model.inherited_weeks)
    if not heir.any():
        return prior
    now.parent[group[heir]] = parent[heir]
    past = switched(now.regime[parent], np.where(heir, weeks, 0.0), regimes)[0]
    share = model.inherited_share * heir[:, None]
    return np.asarray(share * past + (1 - share) * prior)


def _predict(
    now: Beliefs, observed: Observations, rows: slice, chance: Floats, regimes: Regimes, model: Model
) -> tuple[Floats, Floats]:
    """Means and covariances just before the sessions of one day, shapes (3, rows, regimes), (6, rows,
    regimes).
    """
    series, day = observed.series[rows], int(observed.day[rows.start])
    old = now.seen[series]
    weeks = np.where(old, (day - now.series_day[series]) / 7, 0.0)
    idle = observed.idle_days[rows] / 7
    after, stayed, left = switched(chance, weeks, regimes)
    anchor = np.where(old, (chance * now.mean[0, series]).sum(axis=1), observed.value[rows])
    mean, cov = now.mean[:, series], now.cov[:, series]
    mean[0] -= np.where(old, anchor, 0)[:, None]
    stay_share = stayed / after

    def mix(values: Floats) -> Floats:
        return np.asarray(stay_share * values + times(left * values, regimes.enter) / after)

    mixed = np.stack([mix(m) for m in mean])
    spread = np.stack(
        [mix(cov[k] + mean[i] * mean[j]) - mixed[i] * mixed[j] for k, (i, j) in enumerate(PAIRS)]
    )
    drift = np.clip(weeks - idle, 0, model.longest_drift_weeks)
    mixed[0] += anchor[:, None] + drift[:, None] * regimes.slope
    keep = np.exp(-weeks / model.departure_weeks)[:, None]
    away = model.departure_var(observed.unlogged[rows])[:, None]
    mixed[2] *= keep
    mixed[2] -= (model.layoff_loss_per_week * np.minimum(idle, model.longest_layoff_weeks))[:, None]
    spread[2] *= keep
    spread[4] *= keep
    spread[5] = spread[5] * keep**2 + away * (1 - keep**2)
    spread[5] += (model.layoff_sd_per_week * np.minimum(idle, model.longest_layoff_weeks))[:, None] ** 2
    unused = np.maximum(weeks - idle - model.longest_drift_weeks, 0)
    spread[0] += (model.level_var_per_week * weeks + model.unused_var_per_week * unused)[:, None]
    new = ~old
    if new.any():
        mixed[:, new], spread[:, new] = 0, 0
        mixed[0, new] = observed.value[rows][new, None]
        spread[0, new] = model.first_sd**2
        spread[3, new] = model.personal_curve_sd**2
        spread[5, new] = away[new]
    return mixed, spread
