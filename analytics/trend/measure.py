"""Measurement: what the sessions of one day say about each lift, a bad day being shared by all of them.

A session is an ordinary one, or easy on purpose, or far off for a reason nobody wrote down.  Its belief is
the mixture of all three (probabilistic data association: Bar-Shalom & Tse 1975, Automatica 11:451-460), so
one odd day neither drags the line nor is thrown away.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.trend.beliefs import Beliefs, Observations
from analytics.trend.model import Model

Floats = NDArray[np.float64]

MOST_EXPOSURE = 0.7
"""Log of maximum over load at about 30 repetitions."""


EXPOSURE_SLACK = 0.08
"""How far, in log load, the repetitions of a session may lie from what its load led one to expect: two
standard deviations of a test (4.2 %, Grgic et al. 2020).
"""


@dataclass(frozen=True, kw_only=True)
class Measured:
    """Beliefs after one day; shapes (3, rows, regimes), (6, rows, regimes), (rows, regimes) and (rows,)."""

    mean: Floats
    cov: Floats
    log_likelihood: Floats
    cleaned: Floats
    cleaned_var: Floats
    day_effect: Floats
    departure: Floats
    kept: Floats
    surprise: Floats
    noise_weight: Floats
    noise_sum: Floats


def measure(
    mean: Floats,
    cov: Floats,
    chance: Floats,
    observed: Observations,
    rows: slice,
    now: Beliefs,
    model: Model,
) -> Measured:
    """Beliefs after the sessions `rows` of one day, given those just before it and the regime
    probabilities.
    """
    series = observed.series[rows]
    exposure = _exposure(mean, chance, observed, rows)[:, None]
    noise_scale = (now.noise_sum[series] / now.noise_weight[series])[:, None]
    own = noise_scale * model.own_sd**2 + observed.noise[rows][:, None] ** 2
    # Observation row h = (1, -exposure, 1): P h for each regime.
    gain0 = cov[0] - exposure * cov[1] + cov[2]
    gain1 = cov[1] - exposure * cov[3] + cov[4]
    gain2 = cov[2] - exposure * cov[4] + cov[5]
    explained = gain0 - exposure * gain1 + gain2
    error = observed.value[rows][:, None] - (mean[0] - exposure * mean[1] + mean[2])
    day_mean, day_var = _day_of_others(error, explained + own, chance, observed.athlete[rows], model)
    error = error - day_mean[:, None]
    total = explained + own + day_var[:, None]

    light = observed.light[rows][:, None]
    ordinary = np.log1p(-light - model.wide_chance) + _log_normal(error, total)
    easy = np.log(light) + _log_normal(error + model.light_drop, total + model.light_sd**2)
    wide = np.log(model.wide_chance) + _log_normal(error, total + model.wide_sd**2)
    log_likelihood = np.logaddexp(np.logaddexp(ordinary, easy), wide)
    keep = np.exp(ordinary - log_likelihood)
    odd = np.exp(wide - log_likelihood)

    gains = np.stack([gain0, gain1, gain2]) / total
    new_mean = mean + keep * gains * error
    shrink = keep * total - keep * (1 - keep) * error**2
    pairs = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2))
    new_cov = np.stack([cov[k] - shrink * gains[i] * gains[j] for k, (i, j) in enumerate(pairs)])
    new_cov[0] += odd * model.jump_sd**2

    weight = chance * np.exp(log_likelihood - log_likelihood.max(axis=1, keepdims=True))
    weight /= weight.sum(axis=1, keepdims=True)
    kept = (weight * keep).sum(axis=1)
    ratio = (weight * error**2 / total).sum(axis=1)
    return Measured(
        mean=new_mean,
        cov=new_cov,
        log_likelihood=log_likelihood,
        cleaned=observed.value[rows]
        - day_mean
        + (weight * (exposure * new_mean[1] - new_mean[2])).sum(axis=1),
        cleaned_var=own[:, 0] + day_var,
        day_effect=day_mean,
        departure=(weight * new_mean[2]).sum(axis=1),
        kept=kept,
        surprise=(weight * error / np.sqrt(total)).sum(axis=1),
        noise_weight=kept,
        noise_sum=kept * np.minimum(ratio, 9.0) * noise_scale[:, 0],
    )


def _exposure(mean: Floats, chance: Floats, observed: Observations, rows: slice) -> Floats:
    """How much the personal curve moves each session's estimate: expected log-strength over log load.

    Repetitions done would be the wrong measure: a good day raises both them and the estimate, and the
    curve would take noise for shape.  The load was chosen before the day was known.  But a level that was
    set too high must not raise the exposure of every set and so itself: the repetitions bound it.
    """
    log_load = observed.value[rows] - observed.exposure[rows]
    expected = (chance * mean[0]).sum(axis=1)
    done = observed.exposure[rows]
    low, high = np.maximum(done - EXPOSURE_SLACK, 0.0), np.minimum(done + EXPOSURE_SLACK, MOST_EXPOSURE)
    return np.clip(expected - log_load, low, np.maximum(low, high))


def _log_normal(error: Floats, variance: Floats) -> Floats:
    return np.asarray(-0.5 * (error**2 / variance + np.log(2 * np.pi * variance)))


def _day_of_others(
    error: Floats, total: Floats, chance: Floats, athlete: NDArray[np.intp], model: Model
) -> tuple[Floats, Floats]:
    """Mean and variance of the day's shared effect as told by the athlete's other lifts, shape (rows,)."""
    centre = (chance * error).sum(axis=1)
    spread = (chance * (total + (error - centre[:, None]) ** 2)).sum(axis=1)
    limit = 3 * np.sqrt(spread + model.day_sd**2)
    weight = 1 / spread
    pull = weight * np.clip(centre, -limit, limit)
    starts = np.flatnonzero(np.diff(athlete, prepend=-1))
    of_row = np.cumsum(np.diff(athlete, prepend=-1) != 0) - 1
    others = np.add.reduceat(weight, starts)[of_row] - weight
    pulls = np.add.reduceat(pull, starts)[of_row] - pull
    alone = others <= 1e-9 * weight
    safe = np.where(alone, 1.0, others)
    told, told_var = np.where(alone, 0, pulls / safe), np.where(alone, np.inf, 1 / safe)
    # A day far worse than usual widens its own prior, as a deload of the whole athlete does.
    prior = np.maximum(model.day_sd**2, np.where(alone, 0, told**2 - np.where(alone, 0, told_var)))
    share = np.where(alone, 0, prior / (prior + np.where(alone, 1, told_var)))
    return share * told, prior * (1 - share)
