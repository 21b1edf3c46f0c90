"""Ahead: where a lift goes if nothing changes, week by week up to the stage date."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from math import exp, log, sqrt
from typing import Any

from analytics.schema import Z80

FORECAST_WEEKS = 4
"""How far ahead the forecast of a lift's row lies."""
FARTHEST_WEEKS = 20


def end_of_sight(as_of: date, stage_date: date | None) -> date:
    """The last day that is drawn: a stage date four to twenty weeks ahead, else four weeks from now."""
    near, far = (as_of + timedelta(weeks=weeks) for weeks in (FORECAST_WEEKS, FARTHEST_WEEKS))
    return stage_date if stage_date is not None and near <= stage_date <= far else near


def ahead(lift: Mapping[str, Any], line_end: Mapping[str, Any], end: date) -> list[dict[str, Any]]:
    """Rows date, kg, low, high from the last point of the drawn line to `end`, about one a week.

    The mean goes on at the rate of the four-week forecast.  The band starts as the line's own, and its
    variance grows by the variance of the slope times the square of time.  How sure the level itself is does
    not matter to a change, and is told beside the chart.  Beyond four weeks it says what follows if nothing
    changes.
    """
    weekly = (log(lift["forecast_kg"]) - log(lift["strength_kg"])) / FORECAST_WEEKS
    slope_sd = (lift["slope_high"] - lift["slope_low"]) / (2 * Z80) / 100
    start, mean_now = line_end["date"], log(line_end["strength_kg"])
    sd_now = log(line_end["strength_high_kg"] / line_end["strength_low_kg"]) / (2 * Z80)
    days = max((end - start).days, 1)
    steps = max(round(days / 7), 1)
    rows = []
    for step in range(steps + 1):
        weeks = days * step / steps / 7
        mean = mean_now + weekly * weeks
        half = Z80 * sqrt(sd_now**2 + (slope_sd * weeks) ** 2)
        day = start + timedelta(days=round(7 * weeks))
        rows.append({"date": day, "kg": exp(mean), "low": exp(mean - half), "high": exp(mean + half)})
    return rows
