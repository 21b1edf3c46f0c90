"""Norms: published bands of weekly volume and of repetitions per session, for words beside a count."""

from __future__ import annotations

MODERATE_SETS = (12.0, 20.0)
"""Weekly sets per muscle group of trained men: under 12 low, 12 to 20 moderate, over 20 high (Baz-Valle et
al. 2022, PMC8884877)."""
PREP_REPS = (40.0, 70.0)
"""Repetitions per muscle group and session in contest preparation (Helms et al. 2015, J Sports Med Phys
Fitness 55:164)."""


def volume_band(weekly_sets: float) -> str:
    """`low`, `moderate` or `high` weekly sets of one muscle group."""
    low, high = MODERATE_SETS
    return "low" if weekly_sets < low else "high" if weekly_sets > high else "moderate"


def prep_band(reps_per_session: float) -> str:
    """`below`, `inside` or `above` the repetitions per muscle group and session of contest preparation."""
    low, high = PREP_REPS
    return "below" if reps_per_session < low else "above" if reps_per_session > high else "inside"
