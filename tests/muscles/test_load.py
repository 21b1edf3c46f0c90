from datetime import date, timedelta

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics.muscles import session_load
from analytics.schema import CHECKINS, SESSION_LOAD, breaches, conform

MONDAY = date(2026, 11, 16)
FAR = MONDAY + timedelta(days=60)


def rated(*days: tuple[int, float | None, float | None], athlete: str = "wren") -> pl.DataFrame:
    """Day, session RPE and minutes."""
    rows = []
    for day, rating, minutes in days:
        for measure, unit, value in (("session_rpe", "rpe", rating), ("session_minutes", "min", minutes)):
            if value is not None:
                rows.append(
                    {
                        "athlete": athlete,
                        "date": MONDAY + timedelta(days=day),
                        "measure": measure,
                        "value": value,
                        "unit": unit,
                    }
                )
    schema = {column.name: column.dtype for column in CHECKINS.columns}
    return conform(pl.DataFrame(rows, schema=schema), CHECKINS)


def week(*loads: float) -> pl.DataFrame:
    return rated(*((day, load / 60, 60.0) for day, load in enumerate(loads)))


def test_load_of_one_session(make_sets):
    # Foster et al. 2001, JSCR 15:109 (formula from memory): RPE 6 x 75 min = 450.
    assert session_load(rated((0, 6.0, 75.0)), make_sets(), FAR)["load"].to_list() == [450]


def test_monotony_and_strain_of_a_week(make_sets):
    # Foster 1998, MSSE 30:1164 (formulas from memory), computed by hand with the standard deviation of n - 1.
    # (With n it would be 1.0318 and 1496.07; the table says which one it is.)
    row = session_load(week(300, 0, 450, 0, 500, 0, 200), make_sets(), FAR).row(-1, named=True)
    assert row["week_load"] == pytest.approx(1450)
    assert row["monotony"] == pytest.approx(0.9552, abs=1e-4)
    assert row["strain"] == pytest.approx(1385.09, abs=1e-2)


@pytest.mark.parametrize("loads", [(300,) * 7, (0,) * 7])
def test_equal_days_have_no_monotony(make_sets, loads):
    row = session_load(week(*loads), make_sets(), FAR).row(-1, named=True)
    assert (row["monotony"], row["strain"]) == (None, None)


def test_equal_days_after_others_have_none_either(make_sets):
    table = session_load(week(123.4, 77.7, *[310.3] * 7), make_sets(), FAR)
    assert table["monotony"][-1] is None


def test_days_without_training_are_rest(make_sets):
    table = session_load(rated((0, 5.0, 60.0), (6, 5.0, 60.0)), make_sets(), FAR)
    assert table["load"].to_list() == [300, 0, 0, 0, 0, 0, 300]
    assert table["week_load"][-1] == 600


def test_a_session_without_rating_is_missing_not_rest(make_sets):
    sets = make_sets({"date": MONDAY + timedelta(days=3)})
    table = session_load(rated((0, 5.0, 60.0), (6, 5.0, 60.0)), sets, FAR)
    assert table["load"][3] is None
    assert table["week_load"][-1] is None
    assert table["strain"][-1] is None


def test_half_a_rating_is_missing_too(make_sets):
    table = session_load(rated((0, 5.0, 60.0), (2, 7.0, None), (6, 5.0, 60.0)), make_sets(), FAR)
    assert table["load"][2] is None


def test_less_than_a_week_has_no_sum(make_sets):
    assert session_load(week(300, 0, 450), make_sets(), FAR)["week_load"].to_list() == [None] * 3


def test_no_ratio_of_recent_to_past_load():
    # Impellizzeri et al. 2021, Sports Med 51:581: such a ratio predicts no injury.
    assert not [name for name in SESSION_LOAD.names if "ratio" in name or "acute" in name]


def test_other_athletes_and_later_rows_change_nothing(make_sets):
    own, other = week(300, 0, 450, 0, 500, 0, 200), rated((0, 9.0, 90.0), athlete="heron")
    alone = session_load(own, make_sets(), MONDAY + timedelta(days=6))
    later = rated((30, 3.0, 30.0))
    together = session_load(pl.concat([other, own, later]), make_sets(), MONDAY + timedelta(days=6))
    assert_frame_equal(together.filter(pl.col("athlete") == "wren"), alone, check_exact=True)
    assert breaches(together, SESSION_LOAD).is_empty()
