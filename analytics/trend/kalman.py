"""Kalman filter and smoother of the local linear trend, for many irregular series at once, on arrays.

State (level, slope per day); between sessions `step` days apart the state moves as on a daily grid without
observations in between, so the likelihood equals that of a daily model with missing values.  The diffuse
start is exact: the first level and slope are regression coefficients (de Jong 1991, Annals of Statistics
19:1073-1083); smoothing without inverses after Durbin & Koopman (2012, Time Series Analysis by State Space
Methods, ch. 4-5).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class LocalTrend:
    """Variances a day, shape (series,): of the level, and of the slope.

    With `with_slope` false the model is a local level.  `start_mean` and `start_precision` are an optional
    prior of the first level and slope, shapes (series, states) and (series, states, states); without it the
    start is diffuse.
    """

    level_var: Floats
    slope_var: Floats
    with_slope: bool = True
    start_mean: Floats | None = None
    start_precision: Floats | None = None


@dataclass(frozen=True, kw_only=True)
class TrendFit:
    """Log-likelihood (series,), filtered, smoothed and next-day states (series, times, states) with
    covariances.

    Rows after a series' last session repeat the last belief carried on; filtered values inside the diffuse
    start are nan.
    """

    log_likelihood: Floats
    filtered: Floats
    filtered_cov: Floats
    smoothed: Floats
    smoothed_cov: Floats


def fit_local_trend(value: Floats, variance: Floats, day: Floats, model: LocalTrend) -> TrendFit:
    """Filter and smooth.  `value`, `variance`, `day` have shape (series, times); a nan value is a missing
    session.

    `day` rises along each row; padding repeats the last day with a nan value.
    """
    count, times = value.shape
    states = 2 if model.with_slope else 1
    design = np.zeros((count, states))
    design[:, 0] = 1
    known = np.isfinite(value)
    # Columns of the mean: the data, then minus the effect of each first state.
    mean = np.zeros((count, states, 1 + states))
    mean[:, :, 1:] = np.eye(states)
    cov = np.zeros((count, states, states))
    names = ("mean", "cov", "error", "total", "gain", "move", "filtered", "filtered_cov")
    kept: dict[str, list[Floats]] = {name: [] for name in names}
    normal = np.zeros((count, states, states))
    target = np.zeros((count, states))
    quad, log_total = np.zeros(count), np.zeros(count)
    data = np.where(known, value, 0)
    noise = np.where(known, variance, 1)
    at = np.zeros((times, count, states, states)), np.zeros((times, count, states))
    for t in range(times):
        step = day[:, t] - day[:, t - 1] if t else np.zeros(count)
        move, shock = _transition(step, model, states)
        if t:
            mean = move @ mean
            cov = move @ cov @ move.transpose(0, 2, 1) + shock
        total = cov[:, 0, 0] + noise[:, t]
        gain = cov[:, :, 0] / total[:, None] * known[:, t, None]
        error = -mean[:, 0, :] * known[:, t, None]
        error[:, 0] += data[:, t]
        before = (mean, cov, error, total, gain, move)
        effect = -error[:, 1:]
        normal = normal + effect[:, :, None] * effect[:, None, :] / total[:, None, None]
        target = target + effect * (error[:, :1] / total[:, None])
        quad += error[:, 0] ** 2 / total
        log_total += np.where(known[:, t], np.log(total), 0)
        mean = mean + gain[:, :, None] * error[:, None, :]
        cov = cov - gain[:, :, None] * cov[:, None, 0, :]
        at[0][t], at[1][t] = normal, target
        for name, part in zip(names, (*before, mean, cov), strict=True):
            kept[name].append(part)
    prior, prior_mean = np.zeros((count, states, states)), np.zeros((count, states))
    if model.start_mean is not None and model.start_precision is not None:
        prior, prior_mean = model.start_precision, model.start_mean
    prior_target = (prior @ prior_mean[:, :, None])[:, :, 0]
    filtered, filtered_cov = _with_start(
        np.stack(kept["filtered"]), np.stack(kept["filtered_cov"]), at[0] + prior, at[1] + prior_target
    )
    normal, target = normal + prior, target + prior_target
    best = np.linalg.solve(_safe(normal), target[:, :, None])[:, :, 0]
    log_det = np.linalg.slogdet(_safe(normal))[1] - (np.linalg.slogdet(prior)[1] if prior.any() else 0.0)
    offset = (prior_mean * prior_target).sum(axis=1)
    fit = quad + offset - (target * best).sum(axis=1)
    log_likelihood = -0.5 * (known.sum(axis=1) * np.log(2 * np.pi) + log_total + log_det + fit)
    smoothed, smoothed_cov = _backward(kept, states)
    smoothed, smoothed_cov = _with_start(smoothed, smoothed_cov, normal[None], target[None])
    return TrendFit(
        log_likelihood=log_likelihood,
        filtered=filtered.transpose(1, 0, 2),
        filtered_cov=filtered_cov.transpose(1, 0, 2, 3),
        smoothed=smoothed.transpose(1, 0, 2),
        smoothed_cov=smoothed_cov.transpose(1, 0, 2, 3),
    )


def _transition(step: Floats, model: LocalTrend, states: int) -> tuple[Floats, Floats]:
    """Transition and noise over `step` days of a daily level-and-slope random walk."""
    count = len(step)
    move = np.broadcast_to(np.eye(states), (count, states, states)).copy()
    shock = np.zeros((count, states, states))
    shock[:, 0, 0] = step * model.level_var
    if states == 2:
        move[:, 0, 1] = step
        shock[:, 0, 0] += model.slope_var * step * (step - 1) * (2 * step - 1) / 6
        shock[:, 0, 1] = shock[:, 1, 0] = model.slope_var * step * (step - 1) / 2
        shock[:, 1, 1] = model.slope_var * step
    return move, shock


def _backward(kept: dict[str, list[Floats]], states: int) -> tuple[Floats, Floats]:
    """Smoothed means by column and their covariance for a known start."""
    count = len(kept["total"][0])
    pull = np.zeros((count, states, 1 + states))
    weight = np.zeros((count, states, states))
    means, covs = [], []
    times = len(kept["total"])
    for t in range(times - 1, -1, -1):
        mean, cov, error, total, gain = (kept[k][t] for k in ("mean", "cov", "error", "total", "gain"))
        if t < times - 1:
            move = kept["move"][t + 1]
            pull = move.transpose(0, 2, 1) @ pull
            weight = move.transpose(0, 2, 1) @ weight @ move
        left = np.broadcast_to(np.eye(states), (count, states, states)).copy()
        left[:, :, 0] -= gain
        present = (gain.any(axis=1) | error.any(axis=1)).astype(float)
        pull = left.transpose(0, 2, 1) @ pull
        pull[:, 0, :] += error / total[:, None]
        weight = left.transpose(0, 2, 1) @ weight @ left
        weight[:, 0, 0] += present / total
        means.append(mean + cov @ pull)
        covs.append(cov - cov @ weight @ cov)
    return np.stack(means[::-1]), np.stack(covs[::-1])


def _with_start(mean: Floats, cov: Floats, normal: Floats, target: Floats) -> tuple[Floats, Floats]:
    """Means and covariances once the first states are known from `normal` and `target`; nan where they are
    not.
    """
    states = mean.shape[2]
    known = np.linalg.matrix_rank(normal, hermitian=True) == states
    usable = np.where(known[..., None, None], normal, np.eye(states))
    spread = np.linalg.inv(usable)
    best = (spread @ target[..., None])[..., 0]
    effect = mean[..., 1:]
    state = mean[..., 0] + (effect @ best[..., None])[..., 0]
    total = cov + effect @ spread @ effect.swapaxes(-1, -2)
    return (
        np.where(known[..., None], state, np.nan),
        np.where(known[..., None, None], total, np.nan),
    )


def _safe(normal: Floats) -> Floats:
    """The matrix itself where it is of full rank; else with a nan, so that the likelihood says so."""
    known = np.linalg.matrix_rank(normal, hermitian=True) == normal.shape[-1]
    return np.where(known[:, None, None], normal, np.nan)
