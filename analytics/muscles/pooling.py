"""Pooling: from slopes of lifts, with their errors, to the response of each muscle group, on arrays.

Each lift is moved by several groups, so the model has multiple membership (Browne, Goldstein and Rasbash
2001, Statistical Modelling 1:103, from memory):

    slope of a lift = mean of the athlete's lifts + sum of share x group effect + lift effect + error
    growth of girth = mean of the athlete's girths + the same sum over the groups under the tape + ...
    group effect    = - loss x (shortfall of its sets) + own effect

Own effects have spread tau, lift effects spread sigma.  Neither can be read off one athlete's dozen lifts, so
both are integrated over a grid with weak priors instead of being fixed at their best value, and one athlete
never lends variance to another.  The restricted likelihood is that of ``mixed``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from analytics.muscles.mixed import Array, Blocks, estimate, factor, grams

MARGIN_PCT_PER_WEEK = 0.1
"""Behind by more than this counts as lagging: half of the 0.2 % a week that trained lifters gain (Latella et
al. 2020, JSCR 34:2412: 0.20 % for men, 0.29 % for women, from daily gains)."""

_MEAN_PCT, _MEAN_SD = 0.2, 0.5
"""Prior of an athlete's mean slope: the same 0.2 %, with room for novices and for losses."""
_LOSS_PCT, _LOSS_SD = 0.2, 0.1
"""A group without any work gains nothing, so it forgoes the typical 0.2 % a week; uncertain by half."""
_TAU_SCALE, _SIGMA_SCALE = 0.2, 0.4
"""Half-normal prior scales, % a week: groups may differ by the typical gain, single lifts by twice that, as
one may stand still and another run at a novice's pace."""
_GIRTH_MEAN_PCT, _GIRTH_SD = 0.0, 0.5
"""Prior of an athlete's mean growth of cross-sections, % a week."""
_GRID = np.array([0.02, 0.05, 0.09, 0.15, 0.25, 0.4, 0.65])
_STEP, _CHUNK = 4, 128


@dataclass(frozen=True, kw_only=True)
class Slopes:
    """Lifts and girths of `b` athletes, up to `n` each, and `m` muscle groups.

    `slope`, `variance` (b, n): % a week and its square; `girth` (b, n): True for a girth; `share` (b, n, m):
    what each group lends to a row, summing to one; `prime` (b, n, m): True where the group is prime mover of
    the lift; `shortfall` (b, m): 0 with enough sets, 1 with none; `used` (b, n).
    """

    slope: Array
    variance: Array
    girth: NDArray[np.bool_]
    share: Array
    prime: NDArray[np.bool_]
    shortfall: Array
    used: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Responses:
    """Posterior of each group's response, all (b, m), in % a week.

    The response of a group is the mean true slope of the lifts that it is prime mover of; without such a
    lift, the slope of a lift that it alone would move.  `others` is the mean of the athlete's other groups
    that have lifts; `p_lagging` the probability that the group is behind that mean by more than the margin.
    """

    mean: Array
    sd: Array
    others: Array
    p_lagging: Array


def pool_responses(slopes: Slopes, margin: float = MARGIN_PCT_PER_WEEK) -> Responses:
    """Posterior responses of every athlete, each from their own lifts only.

    Athletes are worked on in stacks of equal size, rounded up from their own number of rows, so that an
    answer is the same to the last bit whoever else is there.
    """
    shape = slopes.shortfall.shape
    found = Responses(
        mean=np.zeros(shape), sd=np.zeros(shape), others=np.zeros(shape), p_lagging=np.zeros(shape)
    )
    last = (slopes.used * np.arange(1, slopes.used.shape[1] + 1)).max(axis=1, initial=1)
    sizes = _STEP * -(-last // _STEP)
    for size in np.unique(sizes):
        members = np.flatnonzero(sizes == size)
        for at in range(0, len(members), _CHUNK):
            some = members[at : at + _CHUNK]
            part = _pool(_cut(slopes, some, size), margin)
            found.mean[some], found.sd[some] = part.mean, part.sd
            found.others[some], found.p_lagging[some] = part.others, part.p_lagging
    return found


def _cut(slopes: Slopes, members: NDArray[np.intp], size: int) -> Slopes:
    """Some athletes, with exactly `size` rows each."""

    def rows(values: NDArray[Any], empty: float) -> NDArray[Any]:
        cut = values[members, :size]
        spare = [(0, 0), (0, size - cut.shape[1])] + [(0, 0)] * (cut.ndim - 2)
        return np.ascontiguousarray(np.pad(cut, spare, constant_values=empty))

    return Slopes(
        slope=rows(slopes.slope, 0),
        variance=rows(slopes.variance, 1),
        girth=rows(slopes.girth, False),
        share=rows(slopes.share, 0),
        prime=rows(slopes.prime, False),
        shortfall=slopes.shortfall[members],
        used=rows(slopes.used, False),
    )


def _pool(slopes: Slopes, margin: float) -> Responses:
    """One chunk: the posterior at every grid point, then their mixture."""
    blocks = _blocks(slopes)
    gram = grams(blocks)
    aims, contrast = _targets(slopes), _contrasts(slopes)
    tau, sigma = (axis.ravel() for axis in np.meshgrid(_GRID, _GRID))
    weights, means, variances, gaps, behind = [], [], [], [], []
    for t, s in zip(tau, sigma, strict=True):
        log_weight, mean, cov = _posterior(blocks, gram, aims, t, s)
        gap = (contrast @ mean[:, :, None])[:, :, 0]
        gap_var = (contrast @ cov * contrast).sum(axis=2)
        weights.append(log_weight - t**2 / (2 * _TAU_SCALE**2) - s**2 / (2 * _SIGMA_SCALE**2))
        means.append(mean)
        variances.append(np.diagonal(cov, axis1=1, axis2=2))
        gaps.append(gap)
        behind.append(ndtr((-margin - gap) / np.sqrt(np.maximum(gap_var, 1e-12))))
    share = _grid_weights(np.stack(weights, axis=1), tau, sigma).T[:, :, None]
    mean = (share * np.stack(means)).sum(axis=0)
    spread = (share * (np.stack(variances) + np.square(np.stack(means) - mean))).sum(axis=0)
    return Responses(
        mean=mean,
        sd=np.sqrt(spread),
        others=mean - (share * np.stack(gaps)).sum(axis=0),
        p_lagging=np.clip((share * np.stack(behind)).sum(axis=0), 0.0, 1.0),
    )


def _blocks(slopes: Slopes) -> Blocks:
    """One block per athlete; its last two rows are the priors of both means, written as observations."""
    athletes, rows, groups = slopes.share.shape
    here, on = slice(0, rows), slopes.used.astype(float)
    loss = -(slopes.share @ slopes.shortfall[:, :, None])[:, :, 0] * on
    shape = (athletes, rows + 2)
    y, known, used = np.zeros(shape), np.ones(shape), np.ones(shape, dtype=bool)
    y[:, here] = (slopes.slope - _LOSS_PCT * loss) * on
    y[:, rows:] = _MEAN_PCT, _GIRTH_MEAN_PCT
    known[:, here], used[:, here] = slopes.variance, slopes.used
    known[:, rows:] = _MEAN_SD**2, _GIRTH_SD**2
    x = np.zeros((*shape, 2))
    x[:, here, 0], x[:, here, 1] = on * ~slopes.girth, on * slopes.girth
    x[:, rows:] = np.eye(2)
    member = np.zeros((*shape, 1, groups))
    member[:, here, 0] = slopes.share * on[:, :, None]
    short = np.zeros((*shape, 1, 1))
    short[:, here, 0, 0] = loss
    own = np.zeros((*shape, 1, rows))
    own[:, np.arange(rows), 0, np.arange(rows)] = on
    return Blocks(y=y, x=x, terms=(member, short, own), known=known, used=used)


def _posterior(
    blocks: Blocks, gram: tuple[Array, ...], aims: _Targets, tau: float, sigma: float
) -> tuple[Array, Array, Array]:
    """Log evidence (b,), mean (b, m) and covariance (b, m, m) of the responses at one pair of spreads."""
    covariances = [np.array([[tau**2]]), np.array([[_LOSS_SD**2]]), np.array([[sigma**2]])]
    solved = factor(blocks, gram, covariances, 0.0)
    fixed = estimate(blocks, solved, shared=False)
    # A response is mean + reach u - (short) loss + carried e: its covariance with the rows, and its own.
    member, short = blocks.terms[0][:, :, 0, :], -blocks.terms[1][:, :, 0, 0]
    loss = aims.short[:, :, None]
    cross = (
        tau**2 * aims.reach @ np.swapaxes(member, 1, 2)
        + _LOSS_SD**2 * loss * short[:, None, :]
        + sigma**2 * aims.carried
    )
    prior = (
        tau**2 * aims.reach @ np.swapaxes(aims.reach, 1, 2)
        + _LOSS_SD**2 * loss * np.swapaxes(loss, 1, 2)
        + sigma**2 * aims.carried @ np.swapaxes(aims.carried, 1, 2)
    )
    gain = cross @ solved.weight
    left = blocks.y[:, :, None] - blocks.x @ fixed.beta[:, :, None]
    mean = fixed.beta[:, :1] - _LOSS_PCT * aims.short + (gain @ left)[:, :, 0]
    loose = np.array([1.0, 0.0]) - gain @ blocks.x
    cov = prior - gain @ np.swapaxes(cross, 1, 2) + loose @ fixed.beta_cov @ np.swapaxes(loose, 1, 2)
    return -0.5 * fixed.criterion, mean, cov


@dataclass(frozen=True, kw_only=True)
class _Targets:
    """What each response holds: group effects `reach` (b, m, m), lift effects `carried` (b, m, n + 2), and
    its share of the loss from too few sets, `short` (b, m)."""

    reach: Array
    carried: Array
    short: Array


def _targets(slopes: Slopes) -> _Targets:
    athletes, lifts, groups = slopes.share.shape
    prime = np.swapaxes(slopes.prime & slopes.used[:, :, None], 1, 2).astype(float)
    count = prime.sum(axis=2, keepdims=True)
    mean = prime / np.maximum(count, 1.0)
    reach = np.where(count > 0, mean @ slopes.share, np.eye(groups))
    carried = np.zeros((athletes, groups, lifts + 2))
    carried[:, :, :lifts] = mean
    return _Targets(reach=reach, carried=carried, short=(reach @ slopes.shortfall[:, :, None])[:, :, 0])


def _contrasts(slopes: Slopes) -> Array:
    """(b, m, m): each group minus the mean of the others that have lifts (of all others if none has)."""
    groups = slopes.share.shape[2]
    has = (slopes.prime & slopes.used[:, :, None]).any(axis=1).astype(float)
    others = has[:, None, :] * (1.0 - np.eye(groups))
    count = others.sum(axis=2, keepdims=True)
    fallback = (1.0 - np.eye(groups)) / max(groups - 1, 1)
    return np.eye(groups) - np.where(count > 0, others / np.maximum(count, 1.0), fallback)


def _grid_weights(log_weight: Array, tau: Array, sigma: Array) -> Array:
    """Posterior weight of each grid point, (b, k); the grid is geometric: a cell is as wide as its value."""
    total = log_weight + np.log(tau * sigma)
    total = np.exp(total - total.max(axis=1, keepdims=True))
    return np.asarray(total / total.sum(axis=1, keepdims=True))
