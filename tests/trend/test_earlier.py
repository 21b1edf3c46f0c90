"""What was told a week earlier, read off the same forward pass, is what a run of that day tells."""

from datetime import timedelta

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics import schema
from analytics.simulate import LAST_DAY, World, simulate_roster
from analytics.strength import estimate_sessions
from analytics.trend import fit_trends


@pytest.fixture(scope="module")
def simulated():
    return simulate_roster(World(), athletes=8, weeks=30, seed=17)


@pytest.mark.parametrize("days_back", [0, 3, 7])
def test_the_week_before_is_what_was_told_then(simulated, days_back):
    as_of = LAST_DAY - timedelta(days=days_back)
    sessions = estimate_sessions(simulated.sets)
    now = fit_trends(sessions, simulated.calendar, as_of)
    then = fit_trends(sessions, simulated.calendar, as_of - timedelta(days=7))
    assert_frame_equal(now.lifts_before, then.lifts, check_exact=True)
    assert_frame_equal(now.families_before, then.families, check_exact=True)


def test_a_lift_begun_this_week_was_not_known_before(simulated):
    sessions = estimate_sessions(simulated.sets)
    first = sessions["date"].min()
    sunday = first + timedelta(days=6 - first.weekday())
    found = fit_trends(sessions, simulated.calendar, sunday)
    assert len(found.lifts) > 0
    assert found.lifts_before.is_empty()
    assert found.families_before.is_empty()


def test_a_lift_begun_this_week_does_not_disturb_what_was_told_of_others(simulated):
    sessions = estimate_sessions(simulated.sets)
    last_week = LAST_DAY - timedelta(days=7)
    # The first lift in order, and another in the middle, have been trained for this week alone.
    lifts = sessions.select("athlete", "exercise").unique().sort("athlete", "exercise")
    newcomers = pl.concat([lifts.head(1), lifts[len(lifts) // 2]])
    old = sessions.join(newcomers, on=["athlete", "exercise"], how="anti")
    moved = sessions.join(newcomers, on=["athlete", "exercise"], how="semi").sort("date")
    new = moved.unique(["athlete", "exercise"], keep="last").with_columns(date=pl.lit(LAST_DAY))
    both = schema.conform(pl.concat([old, new]), schema.SESSIONS)
    now = fit_trends(both, simulated.calendar, LAST_DAY)
    then = fit_trends(old, simulated.calendar, last_week)
    assert len(now.lifts) == len(then.lifts) + 2
    assert_frame_equal(now.lifts_before, then.lifts, check_exact=True)
    assert_frame_equal(now.families_before, then.families, check_exact=True)
