"""Ahead: where a lift goes if nothing changes, week by week up to the stage date."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from math import exp, log, sqrt
from typing import Any

FORECAST_WEEKS = 4
"""How far ahead the forecast of a lift's row lies."""
FARTHEST_WEEKS = 20
_Z80 = 1.2815515655446004


def end_of_sight(as_of: date, stage_date: date | None) -> date:
    """The last day that is drawn: a stage date four to twenty weeks ahead, else four weeks from now."""
    near, far = (as_of + timedelta(weeks=weeks) for weeks in (FORECAST_WEEKS, FARTHEST_WEEKS))
    return stage_date if stage_date is not None and near <= stage_date <= far else near


def ahead(lift: Mapping[str, Any], as_of: date, end: date) -> list[dict[str, Any]]:
    """Rows date, kg, low, high from `as_of` to `end`, about one a week.

    The mean goes on at the rate of the four-week forecast.  The variance of log-strength grows with the
    square of time, from today's to the forecast's at four weeks: the slope is what is least known.  Beyond
    four weeks it says what follows if nothing changes, and the 80 % band widens accordingly.
    """
    mean_now, mean_then = log(lift["strength_kg"]), log(lift["forecast_kg"])
    sd_now = log(lift["strength_high_kg"] / lift["strength_low_kg"]) / (2 * _Z80)
    sd_then = log(lift["forecast_high_kg"] / lift["forecast_low_kg"]) / (2 * _Z80)
    grown = max(sd_then**2 - sd_now**2, 0.0)
    days = (end - as_of).days
    steps = max(round(days / 7), 1)
    rows = []
    for step in range(steps + 1):
        passed = days * step / steps
        share = passed / (7 * FORECAST_WEEKS)
        mean = mean_now + (mean_then - mean_now) * share
        half = _Z80 * sqrt(sd_now**2 + grown * share**2)
        day = as_of + timedelta(days=round(passed))
        rows.append({"date": day, "kg": exp(mean), "low": exp(mean - half), "high": exp(mean + half)})
    return rows
