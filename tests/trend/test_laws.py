"""Laws of the trend: what must hold whatever the data are."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analytics import schema
from analytics.simulate.unlike import simulate_unlike
from analytics.strength import estimate_sessions
from analytics.trend import fit_trends

AS_OF = date(2026, 11, 22)
KEY = ["athlete", "exercise", "week_end"]


@pytest.fixture(scope="module")
def roster():
    simulated = simulate_unlike("effort_blocks", athletes=6, weeks=30, seed=4)
    calendar = schema.conform(
        pl.DataFrame(
            {
                "athlete": ["u0001", "u0002"],
                "from": [date(2026, 9, 7), date(2026, 10, 5)],
                "to": [date(2026, 9, 13), date(2026, 10, 18)],
                "kind": ["deload", "travel"],
                "note": [None, None],
            }
        ),
        schema.CALENDAR,
    )
    return estimate_sessions(simulated.sets), calendar


@pytest.fixture(scope="module")
def trends(roster):
    return fit_trends(*roster, AS_OF)


def test_tables_keep_their_contracts(trends):
    for name, table in (
        ("lifts", schema.LIFTS),
        ("families", schema.FAMILIES),
        ("history", schema.LIFT_HISTORY),
        ("lines", schema.TREND_LINES),
    ):
        frame = getattr(trends, name)
        assert frame.columns == table.names
        assert len(frame)
        assert schema.breaches(frame, table).is_empty()
        assert frame.select(table.key).is_duplicated().sum() == 0


@pytest.mark.parametrize("weeks_earlier", [1, 5, 13, 22])
def test_history_is_the_same_whenever_it_is_told(roster, trends, weeks_earlier):
    sessions, calendar = roster
    earlier = AS_OF - timedelta(weeks=weeks_earlier)
    then = fit_trends(sessions, calendar, earlier).history
    now = trends.history.filter(pl.col("week_end") <= earlier)
    assert then.equals(now)


def test_history_of_a_day_inside_a_week_ends_with_the_last_whole_week(roster, trends):
    sessions, calendar = roster
    then = fit_trends(sessions, calendar, date(2026, 10, 14)).history
    assert then["week_end"].max() == date(2026, 10, 11)
    assert then.equals(trends.history.filter(pl.col("week_end") <= date(2026, 10, 11)))


def test_rows_after_the_day_change_nothing(roster):
    sessions, calendar = roster
    day = date(2026, 9, 30)
    cut = fit_trends(sessions.filter(pl.col("date") <= day), calendar, day)
    whole = fit_trends(sessions, calendar, day)
    for name in ("lifts", "families", "history", "lines"):
        assert getattr(cut, name).equals(getattr(whole, name))


def test_row_order_changes_nothing(roster, trends):
    sessions, calendar = roster
    mixed = fit_trends(sessions.sample(fraction=1.0, shuffle=True, seed=1), calendar.reverse(), AS_OF)
    for name in ("lifts", "families", "history", "lines"):
        assert getattr(mixed, name).equals(getattr(trends, name))


def test_other_athletes_change_nothing(roster, trends):
    sessions, calendar = roster
    for athlete in ("u0000", "u0002"):
        alone = fit_trends(sessions.filter(pl.col("athlete") == athlete), calendar, AS_OF)
        for name in ("lifts", "families", "history", "lines"):
            assert getattr(alone, name).equals(getattr(trends, name).filter(pl.col("athlete") == athlete))


def test_the_unit_of_load_changes_kilograms_only(roster, trends):
    sessions, calendar = roster
    kg = [c for c in sessions.columns if c.endswith("_kg")]
    scaled = sessions.with_columns(pl.col(kg) * schema.KG_PER_LB)
    found = fit_trends(scaled, calendar, AS_OF)
    for name in ("p_progressing", "p_stalled", "p_regressing", "slope_pct_per_week"):
        np.testing.assert_allclose(found.history[name], trends.history[name], atol=1e-6)
    np.testing.assert_allclose(
        found.lifts["strength_kg"], trends.lifts["strength_kg"] * schema.KG_PER_LB, rtol=1e-6
    )
    assert found.lifts["state"].equals(trends.lifts["state"])


def test_probabilities_make_one_and_name_the_state(trends):
    for frame in (trends.lifts, trends.families):
        chances = frame.select("p_progressing", "p_stalled", "p_regressing").to_numpy()
        np.testing.assert_allclose(chances.sum(axis=1), 1, atol=1e-6)
        words = np.array(["progressing", "stalled", "regressing"])[chances.argmax(axis=1)]
        expected = np.where(chances.max(axis=1) >= 0.6, words, "unsure")
        assert frame["state"].to_list() == expected.tolist()
        unsure = frame.filter(pl.col("state") == "unsure")
        assert unsure["since"].null_count() == len(unsure)
        assert (frame["slope_low"] <= frame["slope_pct_per_week"]).all()
        assert (frame["slope_pct_per_week"] <= frame["slope_high"]).all()


def test_a_family_of_one_exercise_has_its_strength(trends):
    both = trends.families.join(
        trends.lifts, left_on=["athlete", "exercises"], right_on=["athlete", "exercise"]
    )
    assert len(both)
    np.testing.assert_allclose(both["strength_kg"], both["strength_kg_right"], rtol=1e-9)


def test_no_sessions_no_rows():
    empty = fit_trends(schema.SESSIONS.empty(), schema.CALENDAR.empty(), AS_OF)
    assert empty.lifts.is_empty()
    assert empty.families.is_empty()
    assert empty.history.is_empty()
    assert empty.lines.is_empty()
