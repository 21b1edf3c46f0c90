from datetime import date, timedelta

import pytest

from analytics.charts.ahead import ahead, end_of_sight

TODAY = date(2026, 11, 22)
LIFT = {
    "strength_kg": 100.0,
    "strength_low_kg": 98.0,
    "strength_high_kg": 102.0408,
    "forecast_kg": 101.0,
    "forecast_low_kg": 97.0,
    "forecast_high_kg": 105.165,
}


@pytest.mark.parametrize(
    ("stage", "weeks"),
    [
        (None, 4),
        (TODAY + timedelta(weeks=3), 4),
        (TODAY + timedelta(weeks=9), 9),
        (TODAY + timedelta(weeks=21), 4),
    ],
)
def test_sight_ends_at_a_stage_date_that_is_neither_too_near_nor_too_far(stage, weeks):
    assert end_of_sight(TODAY, stage) == TODAY + timedelta(weeks=weeks)


def test_it_starts_at_today_and_passes_through_the_forecast():
    rows = ahead(LIFT, TODAY, TODAY + timedelta(weeks=8))
    assert len(rows) == 9
    assert [rows[0][k] for k in ("kg", "low", "high")] == pytest.approx([100, 98, 102.0408], abs=0.01)
    assert rows[4]["date"] == TODAY + timedelta(weeks=4)
    assert [rows[4][k] for k in ("kg", "low", "high")] == pytest.approx([101, 97, 105.165], abs=0.01)


def test_the_band_never_narrows():
    widths = [row["high"] / row["low"] for row in ahead(LIFT, TODAY, TODAY + timedelta(weeks=15))]
    assert widths == sorted(widths)
    flat = LIFT | {"forecast_low_kg": 100.9, "forecast_high_kg": 101.1}
    widths = [row["high"] / row["low"] for row in ahead(flat, TODAY, TODAY + timedelta(weeks=15))]
    assert widths == pytest.approx([widths[0]] * 16)
