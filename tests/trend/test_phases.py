"""Phases of the plan: known week by week, of one athlete only, and never before they begin."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analytics import schema
from analytics.simulate.unlike import simulate_unlike
from analytics.strength import estimate_sessions
from analytics.trend import fit_trends
from analytics.trend.phases import LONGEST_WEEKS, plans_at
from analytics.trend.series import days_of

AS_OF = date(2026, 11, 22)


def phases(*rows):
    schema = {"athlete": pl.String, "name": pl.String, "from": pl.Date}
    return pl.DataFrame(rows, schema=schema, orient="row")


def test_plans_by_hand():
    ends = pl.Series([date(2026, 6, 7) + timedelta(days=7 * k) for k in range(8)])
    found = plans_at(
        phases(
            ("wren", "build", date(2026, 6, 10)),
            ("wren", "cut", date(2026, 6, 15)),
            ("wren", "peak", date(2026, 6, 29)),
            ("wren", "off", date(2026, 7, 6)),
        ),
        pl.Series(["avocet", "wren"]),
        days_of(ends),
    )
    # Sundays 7 June to 26 July: nothing yet, build, cut for 6, 13, then 20 days as a peak, then off.
    assert found.known[1].tolist() == [0, 1, 1, 1, 1, 1, 1, 1]
    assert found.diet[1].tolist() == [0, 0, 1, 1, 1, 0, 0, 0]
    np.testing.assert_allclose(found.weeks_in[1] * 7, [0, 0, 6, 13, 20, 0, 0, 0])
    np.testing.assert_allclose(found.weeks_after[1, 5:] * 7, [6, 13, 20])
    assert (found.weeks_after[1, :5] == LONGEST_WEEKS).all()
    assert not found.known[0].any()
    assert not found.diet[0].any()


@pytest.fixture(scope="module")
def roster():
    simulated = simulate_unlike("diets", athletes=5, weeks=32, seed=6)
    cuts = simulated.athletes.select("athlete", name=pl.lit("cut"), **{"from": "diet_from"})
    return estimate_sessions(simulated.sets), cuts


def test_a_phase_that_has_not_begun_changes_nothing(roster):
    sessions, cuts = roster
    day = cuts["from"].min() + timedelta(days=21)
    begun = cuts.filter(pl.col("from") <= day)
    assert 0 < len(begun) < len(cuts)
    calendar = schema.CALENDAR.empty()
    some, all_of_them = (fit_trends(sessions, calendar, day, known) for known in (begun, cuts))
    for name in ("lifts", "families", "history", "lines"):
        assert getattr(some, name).equals(getattr(all_of_them, name))
    now = fit_trends(sessions, calendar, AS_OF, cuts).history
    sunday = day - timedelta(days=day.isoweekday() % 7)
    then = some.history
    assert then.equals(now.filter(pl.col("week_end") <= sunday))


def test_one_athletes_phases_are_no_one_elses(roster):
    sessions, cuts = roster
    calendar = schema.CALENDAR.empty()
    both = [fit_trends(sessions, calendar, AS_OF, known).lifts for known in (cuts, cuts[:1])]
    first = pl.col("athlete") == cuts["athlete"][0]
    assert both[0].filter(first).equals(both[1].filter(first))
    others = [lifts.filter(~first)["p_progressing"].to_numpy() for lifts in both]
    assert np.abs(others[0] - others[1]).max() > 1e-3


def test_a_declared_diet_makes_held_lifts_less_often_progress(roster):
    # Every lift of this roster has held or lost strength since its athlete's diet began.
    sessions, cuts = roster
    calendar = schema.CALENDAR.empty()
    told = fit_trends(sessions, calendar, AS_OF, cuts).lifts["p_progressing"].mean()
    untold = fit_trends(sessions, calendar, AS_OF).lifts["p_progressing"].mean()
    assert told < untold - 0.1
    assert told < 0.3
