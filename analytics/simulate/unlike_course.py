"""Unlike courses: true log strength of lifts day by day, in shapes other than straight lines with a break."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

FLAT_PER_WEEK = 0.0005
"""Slopes smaller than this (0.05 % a week) are a stall; worlds of tiny gains use a smaller one."""


def broken(
    rng: np.random.Generator,
    count: int,
    weeks: int,
    rates: tuple[float, float],
    stall: float,
) -> Floats:
    """Weekly slopes (count, weeks): a log-uniform rate, and for a share `stall` a stretch of none or of
    loss.
    """
    rate = np.exp(rng.uniform(np.log(rates[0]), np.log(rates[1]), count))
    slope = np.repeat(rate[:, None], weeks, axis=1)
    onset = rng.integers(4, max(weeks - 4, 5), count)
    length = 6 + rng.geometric(1 / 14, count)
    kind = rng.random(count)
    week = np.arange(weeks)[None, :]
    inside = (week >= onset[:, None]) & (week < (onset + length)[:, None])
    slope = np.where(inside & (kind < stall)[:, None], 0.0, slope)
    loss = -np.exp(rng.uniform(np.log(0.0015), np.log(0.006), count))
    return np.where(inside & ((kind >= stall) & (kind < 1.3 * stall))[:, None], loss[:, None], slope)


def approaching(rng: np.random.Generator, count: int, weeks: int) -> Floats:
    """Weekly slopes of novices: an exponential approach to a ceiling; the end of it is a stall of its own."""
    room = rng.uniform(0.05, 0.45, count)
    rate = 1 / rng.uniform(5, 40, count)
    left = room[:, None] * np.exp(-rate[:, None] * np.arange(weeks + 1)[None, :])
    return np.asarray(-np.diff(left, axis=1))


def wandering(rng: np.random.Generator, count: int, weeks: int) -> Floats:
    """Weekly slopes that drift smoothly (Ornstein-Uhlenbeck) around a small gain: no break anywhere."""
    keep = np.exp(-1 / rng.uniform(8, 25, count))
    slope = np.empty((count, weeks))
    now = rng.normal(0.0015, 0.0022, count)
    for w in range(weeks):
        slope[:, w] = now
        now = 0.0015 + keep * (now - 0.0015) + np.sqrt(1 - keep**2) * 0.0022 * rng.normal(size=count)
    return slope


def dieting(rng: np.random.Generator, count: int, weeks: int, lifts: int) -> Floats:
    """Weekly slopes with a diet shared by an athlete's lifts: small gains before, slow loss or holding during
    it.
    """
    athletes = count // lifts
    start = np.repeat(rng.integers(4, max(weeks - 8, 5), athletes), lifts)
    toll = np.repeat(rng.uniform(0.0, 0.003, athletes), lifts) * rng.uniform(0.5, 1.5, count)
    rate = np.exp(rng.uniform(np.log(0.0008), np.log(0.005), count))
    inside = np.arange(weeks)[None, :] >= start[:, None]
    return np.where(inside, np.where(toll < FLAT_PER_WEEK, 0.0, -toll)[:, None], rate[:, None])


def regime_of(slope: Floats, flat: float) -> NDArray[np.intp]:
    """0 progressing, 1 stalled, 2 regressing."""
    return np.where(slope >= flat, 0, np.where(slope <= -flat, 2, 1))
