"""Pooling: from slopes of lifts and growth of girths to the response of each muscle group, on arrays.

The trend gives each lift a slope and its error, already pooled over the athlete's lifts, so nothing is drawn
in a second time here.  What is pooled is the error: an athlete's lifts share part of it (a random intercept
per athlete), which cancels where groups are compared.  Girths then speak about the groups under the tape:

    slope of a lift  = trend's slope + error shared by the athlete's lifts + own error
    response         = mean slope of the lifts that the group is prime mover of
    growth of girths = a level per athlete + mean response of the groups under the tape + error

which is a mixed model with known variances and multiple membership (Browne, Goldstein and Rasbash 2001,
Statistical Modelling 1:103, from memory), solved by ``mixed``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from analytics.muscles.mixed import Array, Blocks, estimate, factor, grams, predict

MARGIN_PCT_PER_WEEK = 0.1
"""Behind by more than this counts as lagging: half of the 0.2 % a week that trained lifters gain (Latella et
al. 2020, JSCR 34:2412: 0.20 % for men, 0.29 % for women, from daily gains)."""
SHARED_ERROR = 0.2
"""Share of the error variance of a slope that an athlete's lifts have in common: mean of 14 simulated worlds
by ``evidence.muscle_calls.shared_error`` (0.0 to 0.55)."""

_MEAN_PCT, _MEAN_SD = 0.2, 0.4
"""Response of a group where the athlete has no lift: the same 0.2 %, with room for novices and losses."""
_APART_SD = 0.15
"""Spread of a group without lifts about the athlete's mean: one in four then lags, as in simulated worlds."""
_LOSS_PCT, _LOSS_SD = 0.2, 0.1
"""Such a group, without any work, gains nothing and forgoes the typical 0.2 % a week; uncertain by half."""
_LEVEL_SD = 0.5
"""Prior spread of an athlete's general growth of cross-sections about that of strength, % a week."""
_STEP, _CHUNK = 4, 256


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """Lifts and girths of `b` athletes, up to `n` and `k` each, and `m` muscle groups; % a week.

    `slope`, `error`, `lifted` (b, n): slopes, standard errors, and which places are taken; `prime` (b, n, m):
    1 where the group is prime mover; `growth`, `growth_error`, `taped` (b, k) and `under` (b, k, m): the same
    of girths as growth of cross-section, with what each group lends to it, rows summing to one; `shortfall`
    (b, m): 0 with enough sets, 1 with none.
    """

    slope: Array
    error: Array
    lifted: NDArray[np.bool_]
    prime: Array
    growth: Array
    growth_error: Array
    taped: NDArray[np.bool_]
    under: Array
    shortfall: Array


@dataclass(frozen=True, kw_only=True)
class Responses:
    """Posterior of each group's response, all (b, m), in % a week.

    A group without a lift of its own is taken to follow the athlete's mean, less what too few sets cost it.
    `others` is the mean of the athlete's other groups that have lifts (of all others if none has);
    `p_lagging` the probability that the group is behind that mean by more than the margin.
    """

    mean: Array
    sd: Array
    others: Array
    p_lagging: Array


def pool_responses(evidence: Evidence, margin: float = MARGIN_PCT_PER_WEEK) -> Responses:
    """Posterior responses of every athlete, each from their own rows only.

    Athletes are worked on in stacks of equal size, rounded up from their own number of rows, so that an
    answer is the same to the last bit whoever else is there.
    """
    shape = evidence.shortfall.shape
    found = Responses(**{name: np.zeros(shape) for name in ("mean", "sd", "others", "p_lagging")})
    sizes = np.stack([_size(evidence.lifted), _size(evidence.taped)], axis=1)
    for lifts, girths in np.unique(sizes, axis=0):
        members = np.flatnonzero((sizes == (lifts, girths)).all(axis=1))
        for at in range(0, len(members), _CHUNK):
            some = members[at : at + _CHUNK]
            part = _pool(_cut(evidence, some, lifts, girths), margin)
            found.mean[some], found.sd[some] = part.mean, part.sd
            found.others[some], found.p_lagging[some] = part.others, part.p_lagging
    return found


def _size(taken: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Places that each athlete needs, rounded up."""
    last = (taken * np.arange(1, taken.shape[1] + 1)).max(axis=1, initial=1)
    return np.asarray(_STEP * -(-last // _STEP))


def _cut(evidence: Evidence, members: NDArray[np.intp], lifts: int, girths: int) -> Evidence:
    """Some athletes, with exactly so many places each; empty places hold zeros."""

    def places(values: NDArray[Any], size: int) -> NDArray[Any]:
        cut = values[members, :size]
        spare = [(0, 0), (0, size - cut.shape[1])] + [(0, 0)] * (cut.ndim - 2)
        return np.ascontiguousarray(np.pad(cut, spare))

    return Evidence(
        slope=places(evidence.slope, lifts),
        error=places(evidence.error, lifts),
        lifted=places(evidence.lifted, lifts),
        prime=places(evidence.prime, lifts),
        growth=places(evidence.growth, girths),
        growth_error=places(evidence.growth_error, girths),
        taped=places(evidence.taped, girths),
        under=places(evidence.under, girths),
        shortfall=evidence.shortfall[members],
    )


def _pool(evidence: Evidence, margin: float) -> Responses:
    mean, cov = _with_girths(evidence, *_from_lifts(evidence))
    contrast = _contrasts(evidence)
    gap = (contrast @ mean[:, :, None])[:, :, 0]
    gap_sd = np.sqrt(np.maximum((contrast @ cov * contrast).sum(axis=2), 1e-8))
    return Responses(
        mean=mean,
        sd=np.sqrt(np.maximum(np.diagonal(cov, axis1=1, axis2=2), 1e-8)),
        others=mean - gap,
        p_lagging=ndtr((-margin - gap) / gap_sd),
    )


def _from_lifts(evidence: Evidence) -> tuple[Array, Array]:
    """Mean (b, m) and covariance (b, m, m) of the responses as the lifts tell them."""
    on = evidence.lifted.astype(float)
    prime = np.swapaxes(evidence.prime * on[:, :, None], 1, 2)
    count = prime.sum(axis=2, keepdims=True)
    has, lifts = count > 0, on.sum(axis=1)[:, None, None]
    # Without a lift of its own, a group follows all the lifts of the athlete.
    weight = np.where(has, prime / np.maximum(count, 1), on[:, None, :] / np.maximum(lifts, 1))
    apart = np.where(has[:, :, 0], 0.0, 1.0)
    short = apart * evidence.shortfall
    error = (weight @ (evidence.error * on)[:, :, None])[:, :, 0]
    own = weight * np.square(evidence.error * on)[:, None, :]
    cov = SHARED_ERROR * error[:, :, None] * error[:, None, :]
    cov = cov + (1 - SHARED_ERROR) * own @ np.swapaxes(weight, 1, 2)
    cov = cov + _LOSS_SD**2 * short[:, :, None] * short[:, None, :]
    cov = cov + np.where(lifts > 0, 0.0, _MEAN_SD**2)
    cov = cov + (apart * _APART_SD**2)[:, :, None] * np.eye(cov.shape[1])
    level = (weight @ (evidence.slope * on)[:, :, None])[:, :, 0]
    return np.where(lifts[:, :, 0] > 0, level, _MEAN_PCT) - _LOSS_PCT * short, cov


def _with_girths(evidence: Evidence, mean: Array, cov: Array) -> tuple[Array, Array]:
    """The same after the girths have spoken; only differences between girths say something about groups."""
    athletes, girths, groups = evidence.under.shape
    root = np.linalg.cholesky(cov + 1e-9 * np.eye(groups))
    on = evidence.taped.astype(float)
    under = evidence.under * on[:, :, None]
    # The last row is the prior of the level, written as an observation.
    y, known = np.zeros((athletes, girths + 1)), np.full((athletes, girths + 1), _LEVEL_SD**2)
    y[:, :girths] = evidence.growth * on - (under @ mean[:, :, None])[:, :, 0]
    known[:, :girths] = np.square(evidence.growth_error)
    x, used = np.ones((athletes, girths + 1, 1)), np.ones((athletes, girths + 1), dtype=bool)
    x[:, :girths, 0], used[:, :girths] = on, evidence.taped
    design = np.zeros((athletes, girths + 1, 1, groups))
    design[:, :girths, 0] = under @ root
    blocks, unit = Blocks(y=y, x=x, terms=(design,), known=known, used=used), np.eye(1)
    solved = factor(blocks, grams(blocks), [unit], 0.0)
    level = estimate(blocks, solved, shared=False)
    moved = root @ predict(blocks, solved, level.beta, [unit])[0]
    gain = root @ np.swapaxes(design[:, :, 0], 1, 2) @ solved.weight
    loose = gain @ x
    cov = cov - gain @ design[:, :, 0] @ np.swapaxes(root, 1, 2)
    return mean + moved[:, :, 0], cov + loose @ level.beta_cov @ np.swapaxes(loose, 1, 2)


def _contrasts(evidence: Evidence) -> Array:
    """(b, m, m): each group minus the mean of the others that have lifts (of all others if none has)."""
    groups = evidence.prime.shape[2]
    has = (evidence.prime * evidence.lifted[:, :, None]).max(axis=1) > 0
    others = has[:, None, :] * (1.0 - np.eye(groups))
    count = others.sum(axis=2, keepdims=True)
    fallback = (1.0 - np.eye(groups)) / max(groups - 1, 1)
    return np.eye(groups) - np.where(count > 0, others / np.maximum(count, 1.0), fallback)
