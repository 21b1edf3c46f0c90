from datetime import date, timedelta
from math import log

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


LINE_END = {"date": TODAY, "strength_kg": 100.0, "strength_low_kg": 99.0, "strength_high_kg": 101.0101}


def test_it_starts_where_the_line_ends_and_moves_as_the_forecast_does():
    rows = ahead(LIFT, LINE_END, TODAY + timedelta(weeks=8))
    assert len(rows) == 9
    assert [rows[0][k] for k in ("kg", "low", "high")] == pytest.approx([100, 99, 101.0101], abs=0.01)
    assert rows[4]["date"] == TODAY + timedelta(weeks=4)
    assert rows[4]["kg"] == pytest.approx(101, abs=0.01)


def test_in_four_weeks_the_variance_has_grown_by_what_the_forecast_adds():
    rows = ahead(LIFT, LINE_END, TODAY + timedelta(weeks=4))
    wide = {k: log(high / low) ** 2 for k, low, high in (("now", 98, 102.0408), ("then", 97, 105.165))}
    line, drawn = (log(row["high"] / row["low"]) ** 2 for row in (rows[0], rows[-1]))
    assert drawn - line == pytest.approx(wide["then"] - wide["now"], rel=1e-4)


def test_the_band_never_narrows():
    widths = [row["high"] / row["low"] for row in ahead(LIFT, LINE_END, TODAY + timedelta(weeks=15))]
    assert widths == sorted(widths)
    sure = LIFT | {"forecast_low_kg": 100.9, "forecast_high_kg": 101.1}
    widths = [row["high"] / row["low"] for row in ahead(sure, LINE_END, TODAY + timedelta(weeks=15))]
    assert widths == pytest.approx([widths[0]] * 16)
