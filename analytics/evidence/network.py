"""Network: fits the small network of the correction by stochastic gradients, on arrays."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analytics.trend.correction import CLASS_OUTPUTS, MOST_DEVIATIONS, OUTPUTS, SLOPE_UNIT, Network

Floats = NDArray[np.float64]
Halves = NDArray[np.float32]

LARGEST_SLOPE = 2.0
"""True slopes beyond this many % a week are taken as this, so that a few novices do not rule the fit."""
LEAST_LOG_SD, MOST_LOG_SD = -3.0, 2.0
SLOPE_SHARE, SINCE_SHARE = 0.3, 0.3
"""Weights of the slope's likelihood and of the error of the onset beside the likelihood of the class."""


@dataclass(frozen=True, kw_only=True)
class Examples:
    """Rows of features (nan where undefined) with the true class (index into CLASSES), the true slope in % a
    week, and the weeks since progress ended (nan while it lasts, or where there was none).
    """

    names: tuple[str, ...]
    inputs: Floats
    truth: NDArray[np.intp]
    slope: Floats
    since: Floats


@dataclass(frozen=True, kw_only=True)
class Training:
    """Sizes of the hidden layers, passes over the data, and how it is stepped (Adam: Kingma & Ba 2015)."""

    hidden: tuple[int, ...] = (64, 32)
    epochs: int = 7
    batch: int = 1024
    rate: float = 2e-3
    decay: float = 1e-4
    seed: int = 1


def fit_network(examples: Examples, training: Training) -> Network:
    """Least cross-entropy of the class, Gaussian log-loss of the slope, absolute error of log weeks since."""
    inputs, truth = examples.inputs, examples.truth
    rng = np.random.default_rng(training.seed)
    centre = np.nanmedian(inputs, axis=0).astype(float)
    spread = np.nanpercentile(inputs, 84, axis=0) - np.nanpercentile(inputs, 16, axis=0)
    spread = np.maximum(spread / 2, 1e-6).astype(float)
    scaled = (inputs - centre.astype(np.float32)) / spread.astype(np.float32)
    rows: Halves = np.clip(np.nan_to_num(scaled, nan=0.0), -MOST_DEVIATIONS, MOST_DEVIATIONS).astype(
        np.float32
    )
    slope = np.clip(examples.slope, -LARGEST_SLOPE, LARGEST_SLOPE) / SLOPE_UNIT
    aims = np.column_stack([slope, np.log1p(examples.since)]).astype(np.float32)
    sizes = (rows.shape[1], *training.hidden, OUTPUTS)
    pairs = list(pairwise(sizes))
    weights = [rng.normal(0, np.sqrt(1 / a), (a, b)).astype(np.float32) for a, b in pairs]
    biases = [np.zeros(b, dtype=np.float32) for _, b in pairs]
    parts = [*weights, *biases]
    first = [np.zeros_like(p) for p in parts]
    second = [np.zeros_like(p) for p in parts]
    step, total = 0, training.epochs * (len(rows) // training.batch)
    for _ in range(training.epochs):
        order = rng.permutation(len(rows))
        for k in range(len(rows) // training.batch):
            chosen = order[k * training.batch : (k + 1) * training.batch]
            slopes = _gradients(rows[chosen], truth[chosen], aims[chosen], weights, biases)
            step += 1
            rate = training.rate * 0.5 * (1 + np.cos(np.pi * step / total))
            for p, m, v, g in zip(parts, first, second, slopes, strict=True):
                m += 0.1 * (g + training.decay * p - m)
                v += 0.001 * (g * g - v)
                p -= rate * (m / (1 - 0.9**step)) / (np.sqrt(v / (1 - 0.999**step)) + 1e-8)
    return Network(
        names=examples.names,
        centre=centre,
        spread=spread,
        weights=tuple(w.astype(float) for w in weights),
        biases=tuple(b.astype(float) for b in biases),
    )


def _gradients(
    rows: Halves, truth: NDArray[np.intp], aims: Halves, weights: list[Halves], biases: list[Halves]
) -> list[Halves]:
    layers = [rows]
    for weight, bias in zip(weights[:-1], biases[:-1], strict=True):
        layers.append(np.tanh(layers[-1] @ weight + bias))
    out = layers[-1] @ weights[-1] + biases[-1]
    score = out[:, :CLASS_OUTPUTS] - out[:, :CLASS_OUTPUTS].max(axis=1, keepdims=True)
    chance = np.exp(score)
    chance /= chance.sum(axis=1, keepdims=True)
    back = np.empty_like(out)
    back[:, :CLASS_OUTPUTS] = chance
    back[np.arange(len(truth)), truth] -= 1
    log_sd = np.clip(out[:, 4], LEAST_LOG_SD, MOST_LOG_SD)
    precision = np.exp(-2 * log_sd)
    miss = out[:, 3] - aims[:, 0]
    back[:, 3] = SLOPE_SHARE * np.clip(miss * precision, -5, 5)
    back[:, 4] = SLOPE_SHARE * np.clip(1 - miss**2 * precision, -5, 5)
    # A sign for a gradient: the median is what is learned.
    back[:, 5] = SINCE_SHARE * np.nan_to_num(np.sign(out[:, 5] - aims[:, 1]), nan=0.0)
    back /= len(truth)
    of_weights, of_biases = [], []
    for k in range(len(weights) - 1, -1, -1):
        of_weights.append(layers[k].T @ back)
        of_biases.append(back.sum(axis=0))
        if k:
            back = (back @ weights[k].T) * (1 - layers[k] ** 2)
    return [*of_weights[::-1], *of_biases[::-1]]
