"""Breaks: weeks off, planned easy weeks and weeks in another gym, drawn for a batch of athletes."""

from __future__ import annotations

import numpy as np

from analytics.simulate.draws import Draws
from analytics.simulate.world import World


def draw_breaks(
    draws: Draws, world: World, show_week: np.ndarray, has_show: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Weeks off, deload weeks and weeks in another gym, per athlete and week; off excludes the others.

    Athletes with `has_show` also take `show_week` off, the week after their cut.
    """
    u, weeks = draws.u_trait, draws.u_week.shape[1]
    count, week = u.shape[0], np.arange(weeks)[None, :]
    gap = np.clip(
        np.round(world.deload_every_weeks[0] + world.deload_every_weeks[1] * draws.z_week[:, :, 0]), 3, 12
    )
    due = np.cumsum(gap, axis=1).astype(int)
    deload = np.zeros((count, weeks + 1), dtype=bool)
    np.put_along_axis(deload, np.minimum(due, weeks), True, axis=1)
    deload = deload[:, :weeks] & (u[:, 19] < world.deload_share)[:, None]
    off = np.zeros((count, weeks), dtype=bool)
    travel = np.zeros((count, weeks), dtype=bool)
    for k in range(2):
        happens = draws.u_week[:, k, 0] < world.layoffs_per_year * weeks / 52 / 2
        start = 2 + np.floor(draws.u_week[:, k, 1] * (weeks - 3)).astype(int)
        span = world.layoff_weeks[0] + np.floor(
            draws.u_week[:, k, 2] * (world.layoff_weeks[1] - world.layoff_weeks[0] + 1)
        ).astype(int)
        off |= happens[:, None] & (week >= start[:, None]) & (week < (start + span)[:, None])
    off |= has_show[:, None] & (week == show_week[:, None])
    for k in range(2, 5):
        happens = draws.u_week[:, k, 0] < world.travel_per_year * weeks / 52 / 3
        start = 2 + np.floor(draws.u_week[:, k, 1] * (weeks - 3)).astype(int)
        span = 1 + (draws.u_week[:, k, 2] < 0.4)
        travel |= happens[:, None] & (week >= start[:, None]) & (week < (start + span)[:, None])
    return off, deload & ~off, travel & ~off


def weeks_since(mark: np.ndarray) -> np.ndarray:
    """Weeks since the last marked week (0 in a marked week)."""
    result = np.zeros(mark.shape, dtype=int)
    run = np.zeros(mark.shape[0], dtype=int)
    for w in range(mark.shape[1]):
        run = np.where(mark[:, w], 0, run + 1)
        result[:, w] = run
    return result
