"""Swaps: what a new exercise of a family takes over from the one before it, and what it does not."""

from datetime import timedelta

import numpy as np
import polars as pl
import pytest

from analytics import schema
from analytics.trend import fit_trends

from .test_situations import end_of, judged, log

NOTHING = schema.CALENDAR.empty()
STALLED, GAINING = np.r_[np.full(16, 0.6), np.zeros(16)], np.full(32, 0.6)
NEW = "chest_supported_row"


def swapped(gains, sessions=3, gap_weeks=0, seed=2, base=160.0):
    """A log of one row, then some sessions of another, with loads of its own."""
    before = log(gains, weeks=len(gains), seed=seed)
    after = log(0.0, weeks=12, seed=seed + 50, exercise=NEW, base=base)
    after = after.with_columns(pl.col("date") + timedelta(weeks=len(gains) + gap_weeks)).head(sessions)
    return before, pl.concat([before, after])


def told(sessions, exercise=NEW):
    return judged(sessions).lifts.row(by_predicate=pl.col("exercise") == exercise, named=True)


@pytest.mark.parametrize("seed", [2, 3, 4])
def test_a_stall_is_handed_on_as_a_gain_is(seed):
    # A swap must not wash a stall clean: the new lift begins where the old one stood.
    for gains in (STALLED, GAINING):
        before, both = swapped(gains, seed=seed)
        assert told(both)["p_progressing"] == pytest.approx(told(before, "row")["p_progressing"], abs=0.25)
    assert (
        told(swapped(STALLED, seed=seed)[1])["p_progressing"]
        < (told(swapped(GAINING, seed=seed)[1])["p_progressing"])
    )


@pytest.mark.parametrize("base", [60.0, 300.0])
def test_the_loads_of_the_new_exercise_are_neither_progress_nor_loss(base):
    plain, other = told(swapped(GAINING)[1]), told(swapped(GAINING, base=base)[1])
    assert other["p_progressing"] == pytest.approx(plain["p_progressing"], abs=0.02)
    assert other["slope_pct_per_week"] == pytest.approx(plain["slope_pct_per_week"], abs=0.02)


def test_after_a_long_break_nothing_is_handed_on():
    _, late = swapped(STALLED, gap_weeks=12)
    alone = late.filter(pl.col("exercise") == NEW)
    assert told(late)["p_progressing"] == pytest.approx(told(alone)["p_progressing"], abs=0.05)


def test_what_is_handed_on_was_known_then():
    _, both = swapped(STALLED, sessions=8)
    day = end_of(both)
    whole = fit_trends(both, NOTHING, day).history
    for weeks in (1, 2, 3):
        earlier = day - timedelta(weeks=weeks)
        then = fit_trends(both, NOTHING, earlier).history
        assert then.equals(whole.filter(pl.col("week_end") <= earlier))
