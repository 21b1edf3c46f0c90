"""Correction: a small network that turns a lift's features into state probabilities and a slope.

The regime filter alone forgets an old onset too readily and does not know how the simple rules behave on
real schemes of training.  The network was fitted to simulated rosters of many unlike worlds, all with
known truth, and never to anyone's data; ``python -m analytics.evidence.fit`` makes its numbers
again.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from analytics.trend.features import Features
from analytics.trend.slopes import times

Floats = NDArray[np.float64]

CLASS_OUTPUTS = 3
OUTPUTS = CLASS_OUTPUTS + 3
"""Scores of the classes, the slope, the log of its standard deviation, log weeks since progress ended."""
LONGEST_SINCE = 4.6
"""Log of 100 weeks."""
MOST_DEVIATIONS = 4.0
SLOPE_UNIT = 0.3
"""The network's slope is in units of this many % a week."""
ENOUGH_SESSIONS = 6
"""From here on the network's word is taken whole."""
OPEN_CHANCE = np.array([0.50, 0.35, 0.15])
OPEN_SLOPE, OPEN_SLOPE_SD = 0.001, 0.004
"""What is said of a lift nobody has seen yet: common practice, no source; no state reaches 0.6."""
HEIR_SLOPE_SD = 0.001
"""What a swap adds to the uncertainty of the slope: common practice, no source."""
_BLOCK = 1024


@dataclass(frozen=True, kw_only=True)
class Corrected:
    """Probabilities `chance` (..., 3) of the classes; mean and standard deviation of the weekly slope
    (...); `weeks_since` (...): if the lift does not progress, the median of the weeks since it did.
    """

    chance: Floats
    slope: Floats
    slope_sd: Floats
    weeks_since: Floats


@dataclass(frozen=True, kw_only=True)
class Network:
    """Column names in order, their centre and spread, and weights and biases layer by layer (tanh
    between).
    """

    names: tuple[str, ...]
    centre: Floats
    spread: Floats
    weights: tuple[Floats, ...]
    biases: tuple[Floats, ...]

    def corrected(self, features: Features) -> Corrected:
        """What the network says for every row of `features`; nothing is said (nan) before a first session."""
        index = [features.names.index(name) for name in self.names]
        scaled = (features.values[..., index] - self.centre) / self.spread
        rows = np.clip(np.nan_to_num(scaled, nan=0.0), -MOST_DEVIATIONS, MOST_DEVIATIONS)
        flat = rows.reshape(-1, rows.shape[-1])
        # Blocks of one fixed size keep a row's result free of how many rows there are.
        padded = np.zeros((-(-len(flat) // _BLOCK) * _BLOCK, flat.shape[1]))
        padded[: len(flat)] = flat
        parts = [self._forward(padded[k : k + _BLOCK]) for k in range(0, len(padded), _BLOCK)]
        out = np.concatenate(parts)[: len(flat)].reshape(*rows.shape[:-1], -1)
        score = out[..., :CLASS_OUTPUTS]
        chance = np.exp(score - score.max(axis=-1, keepdims=True))
        begun = np.isfinite(features.values[..., features.names.index("slope")])
        return Corrected(
            chance=np.where(begun[..., None], chance / chance.sum(axis=-1, keepdims=True), np.nan),
            slope=np.where(begun, out[..., 3] * SLOPE_UNIT / 100, np.nan),
            slope_sd=np.where(begun, np.exp(np.clip(out[..., 4], -3, 2)) * SLOPE_UNIT / 100, np.nan),
            weeks_since=np.where(begun, np.expm1(np.clip(out[..., 5], 0, LONGEST_SINCE)), np.nan),
        )

    def _forward(self, rows: Floats) -> Floats:
        for weight, bias in zip(self.weights[:-1], self.biases[:-1], strict=True):
            rows = np.tanh(rows @ weight + bias)
        return np.asarray(rows @ self.weights[-1] + self.biases[-1])


def tempered(told: Corrected, features: Features, parent: NDArray[np.intp]) -> Corrected:
    """What is told, drawn towards ignorance while a lift has few sessions.

    Simulated lifts nearly all begin by progressing; a coach who sees a first session knows no such thing.  A
    lift that took over from another of its family (`parent`, its row, or -1) is drawn towards what was told
    of that one when it began.
    """
    sessions = np.expm1(features.values[..., features.names.index("log_sessions")])
    share = np.clip(sessions / ENOUGH_SESSIONS, 0, 1) ** 3
    start = np.argmax(np.isfinite(told.slope), axis=1)
    heir = parent >= 0
    chance = np.where(heir[:, None], told.chance[parent, start], OPEN_CHANCE)[:, None]
    open_slope = np.where(heir, told.slope[parent, start], OPEN_SLOPE)[:, None]
    open_sd = np.where(heir, np.hypot(told.slope_sd[parent, start], HEIR_SLOPE_SD), OPEN_SLOPE_SD)[:, None]
    variance = share * told.slope_sd**2 + (1 - share) * open_sd**2
    variance += share * (1 - share) * (told.slope - open_slope) ** 2
    return Corrected(
        chance=share[..., None] * told.chance + (1 - share[..., None]) * chance,
        slope=share * told.slope + (1 - share) * open_slope,
        slope_sd=np.sqrt(variance),
        weeks_since=told.weeks_since,
    )


@cache
def packaged(which: str) -> Network:
    """The network `which` ("lifts" or "families") from correction.json."""
    file = resources.files("analytics.trend") / "correction.json"
    return network_from(file.read_text(encoding="utf-8"), which)


def network_from(text: str, which: str) -> Network:
    """The network `which` out of a stored file's text."""
    stored = json.loads(text)[which]
    return Network(
        names=tuple(stored["names"]),
        centre=np.array(stored["centre"]),
        spread=np.array(stored["spread"]),
        weights=tuple(np.array(w) for w in stored["weights"]),
        biases=tuple(np.array(b) for b in stored["biases"]),
    )


def reweighed(regime: Floats, chance: Floats, of_class: Floats) -> Floats:
    """Regime probabilities (..., regimes) whose sums by class are `chance` (..., 3)."""
    sums = times(regime, of_class)
    return np.asarray(regime * times(chance / np.maximum(sums, 1e-12), of_class.T))
