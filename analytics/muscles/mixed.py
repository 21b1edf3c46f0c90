"""Mixed models: restricted likelihood, fixed effects and predictions on arrays, in independent blocks.

    y = x beta + sum over terms of (design u) + e,    u ~ N(0, covariance),    e ~ N(0, residual + known)

Blocks are independent given the fixed effects: subjects of one study that share `beta`, or athletes that each
have their own.  Both run through ``factor`` and ``estimate``.  Laird and Ware 1982, Biometrics 38:963; the
predictions are those of Henderson 1975, Biometrics 31:423 (both from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

Array = NDArray[np.float64]

_LOG_2PI = float(np.log(2 * np.pi))


@dataclass(frozen=True, kw_only=True)
class Blocks:
    """Data in `b` blocks of up to `n` rows.

    `y` (b, n); `x` (b, n, p); each of `terms` (b, n, q, g): a term with q effects in each of g groups;
    `known` (b, n): known sampling variance of each row; `used` (b, n): False where a block is shorter.
    """

    y: Array
    x: Array
    terms: tuple[Array, ...]
    known: Array
    used: NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True)
class Solved:
    """Blocks under given variances: `weight` (b, n, n) is the inverse covariance, `log_det` (b,)."""

    weight: Array
    log_det: Array


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """Generalised least squares.

    `beta` (..., p), its covariance (..., p, p), and `criterion` (...): -2 log-likelihood, restricted or not,
    all constants included.
    """

    beta: Array
    beta_cov: Array
    criterion: Array


@dataclass(frozen=True, kw_only=True)
class MixedFit:
    """A fitted model: fixed effects, one covariance matrix per term, residual variance, predictions."""

    beta: Array
    beta_cov: Array
    covariances: tuple[Array, ...]
    residual: float
    criterion: float
    predictions: tuple[Array, ...]


def grams(blocks: Blocks) -> tuple[Array, ...]:
    """Per term, (b, q, q, n, n): what one unit of each covariance adds to the covariance of the rows."""
    parts = []
    for term in blocks.terms:
        count, rows, effects, groups = term.shape
        flat = term.reshape(count, rows * effects, groups)
        products = (flat @ np.swapaxes(flat, 1, 2)).reshape(count, rows, effects, rows, effects)
        parts.append(np.ascontiguousarray(products.transpose(0, 2, 4, 1, 3)))
    return tuple(parts)


def factor(blocks: Blocks, gram: Sequence[Array], covariances: Sequence[Array], residual: float) -> Solved:
    """Inverse covariance of the rows.  `covariances`: (q, q) each; `residual`: of one row."""
    count = blocks.y.shape[1]
    total = np.where(blocks.used, blocks.known + residual, 1.0)[:, :, None] * np.eye(count)
    for part, covariance in zip(gram, covariances, strict=True):
        total = total + (covariance[..., None, None] * part).sum(axis=(1, 2))
    lower = np.linalg.cholesky(total)
    half = np.linalg.solve(lower, np.broadcast_to(np.eye(count), total.shape))
    return Solved(
        weight=np.swapaxes(half, 1, 2) @ half,
        log_det=2 * np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1),
    )


def estimate(blocks: Blocks, solved: Solved, *, shared: bool, restricted: bool = True) -> Estimate:
    """Fixed effects, over all blocks together (`shared`) or one set per block."""
    weighted = np.swapaxes(blocks.x, 1, 2) @ solved.weight
    information = weighted @ blocks.x
    score = (weighted @ blocks.y[:, :, None])[..., 0]
    square = (blocks.y[:, None, :] @ solved.weight @ blocks.y[:, :, None])[:, 0, 0]
    log_det, rows = solved.log_det, blocks.used.sum(axis=1).astype(float)
    if shared:
        information, score, square = information.sum(axis=0), score.sum(axis=0), square.sum(axis=0)
        log_det, rows = log_det.sum(axis=0), rows.sum(axis=0)
    beta_cov = np.asarray(np.linalg.inv(information), dtype=np.float64)
    beta = (beta_cov @ score[..., None])[..., 0]
    lost = float(blocks.x.shape[2]) if restricted else 0.0
    criterion = (rows - lost) * _LOG_2PI + log_det + square - (beta * score).sum(axis=-1)
    if restricted:
        criterion = criterion + np.linalg.slogdet(information)[1]
    return Estimate(beta=beta, beta_cov=beta_cov, criterion=criterion)


def predict(blocks: Blocks, solved: Solved, beta: Array, covariances: Sequence[Array]) -> tuple[Array, ...]:
    """Best linear unbiased predictions of each term, (b, g, q)."""
    left = solved.weight @ (blocks.y[:, :, None] - blocks.x @ beta[..., None])
    return tuple(
        np.einsum("qr,bnrg,bn->bgq", covariance, term, left[:, :, 0])
        for term, covariance in zip(blocks.terms, covariances, strict=True)
    )


def fit_mixed(blocks: Blocks, *, restricted: bool = True) -> MixedFit:
    """Variances by (restricted) maximum likelihood, with fixed effects shared by all blocks.

    The search runs over Cholesky factors relative to a first guess of the residual spread, from a start that
    splits the variance evenly.  A variance may end at zero.
    """
    gram = grams(blocks)
    sizes = [term.shape[2] for term in blocks.terms]
    ols = np.linalg.lstsq(blocks.x[blocks.used], blocks.y[blocks.used], rcond=None)[0]
    spread = float(np.std((blocks.y - blocks.x @ ols)[blocks.used]))
    scales = [spread / np.maximum(_column_scale(term, blocks.used), 1e-12) for term in blocks.terms]

    def unpack(theta: Array) -> tuple[list[Array], float]:
        covariances, at = [], 1
        for size, scale in zip(sizes, scales, strict=True):
            lower = np.zeros((size, size))
            entries = size * (size + 1) // 2
            lower[np.tril_indices(size)] = theta[at : at + entries]
            lower = lower * scale[:, None]
            covariances.append(lower @ lower.T)
            at += entries
        return covariances, float((spread * np.exp(theta[0])) ** 2)

    def criterion(theta: Array) -> float:
        covariances, residual = unpack(theta)
        solved = factor(blocks, gram, covariances, residual)
        return float(estimate(blocks, solved, shared=True, restricted=restricted).criterion)

    start = np.concatenate([[np.log(0.7)], *(np.eye(size)[np.tril_indices(size)] * 0.5 for size in sizes)])
    found = minimize(
        criterion, start, method="L-BFGS-B", options={"ftol": 1e-13, "gtol": 1e-7, "maxiter": 500}
    )
    found = minimize(
        criterion, found.x, method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-10, "maxiter": 2000}
    )
    covariances, residual = unpack(found.x)
    solved = factor(blocks, gram, covariances, residual)
    final = estimate(blocks, solved, shared=True, restricted=restricted)
    return MixedFit(
        beta=final.beta,
        beta_cov=final.beta_cov,
        covariances=tuple(covariances),
        residual=residual,
        criterion=float(final.criterion),
        predictions=predict(blocks, solved, final.beta, covariances),
    )


def _column_scale(term: Array, used: NDArray[np.bool_]) -> Array:
    """Root mean square of each effect's design column over the used rows that carry it, (q,)."""
    entries = np.square(term[used])
    return np.sqrt(entries.sum(axis=(0, 2)) / np.maximum((entries > 0).sum(axis=(0, 2)), 1))
