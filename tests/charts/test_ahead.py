from datetime import date, timedelta
from math import log

import pytest

from analytics.charts.ahead import ahead, end_of_sight

TODAY = date(2026, 11, 22)
LIFT = {
    "strength_kg": 100.0,
    "forecast_kg": 101.0,
    "slope_low": 0.0,
    "slope_high": 0.4,
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


LINE_END = {"date": TODAY, "strength_kg": 100.0, "strength_low_kg": 99.0, "strength_high_kg": 101.0101}


def test_it_starts_where_the_line_ends_and_moves_as_the_forecast_does():
    rows = ahead(LIFT, LINE_END, TODAY + timedelta(weeks=8))
    assert len(rows) == 9
    assert [rows[0][k] for k in ("kg", "low", "high")] == pytest.approx([100, 99, 101.0101], abs=0.01)
    assert rows[4]["date"] == TODAY + timedelta(weeks=4)
    assert rows[4]["kg"] == pytest.approx(101, abs=0.01)


def test_the_band_grows_by_the_slope_that_is_not_known():
    line, drawn = (row["high"] / row["low"] for row in ahead(LIFT, LINE_END, TODAY + timedelta(weeks=5))[::5])
    # The 80 % interval of the slope is 0.4 % a week wide: over five weeks that is 2 %.
    assert log(drawn) ** 2 - log(line) ** 2 == pytest.approx(0.02**2, rel=1e-6)


def test_the_band_never_narrows():
    widths = [row["high"] / row["low"] for row in ahead(LIFT, LINE_END, TODAY + timedelta(weeks=15))]
    assert widths == sorted(widths)
    sure = LIFT | {"slope_low": 0.1, "slope_high": 0.1}
    widths = [row["high"] / row["low"] for row in ahead(sure, LINE_END, TODAY + timedelta(weeks=15))]
    assert widths == pytest.approx([widths[0]] * 16)
