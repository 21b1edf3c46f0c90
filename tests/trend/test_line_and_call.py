"""The coach sees the drawn line and the call side by side: they must be two views of one model.

Seen on demo pages: a line that falls 7 % over 25 weeks under the words "+0.04 % a week, unsure"; a flat line
under "progressing with probability 0.82"; a dashed forecast that turns up where the line goes down.
"""

import numpy as np
import polars as pl
import pytest

from analytics.simulate import World, simulate_roster
from analytics.strength import estimate_sessions
from analytics.trend import fit_trends


@pytest.fixture(scope="module")
def trends():
    simulated = simulate_roster(World(), 16, 26, 41)
    sessions = estimate_sessions(simulated.sets)
    return fit_trends(sessions, simulated.calendar, sessions["date"].max())


def test_the_line_runs_through_its_dots(trends):
    # Seen on a demo page: seven sessions in a row 11 % below the line, because the personal curve ran off and
    # sets without effort outweighed those with it; in this roster the worst such run was 24 % off.
    off = (
        trends.lines.sort("athlete", "exercise", "date")
        .with_columns(gap=(pl.col("session_kg") / pl.col("strength_kg")).log())
        .with_columns(pl.col("gap").rolling_median(7, center=True).over("athlete", "exercise").abs())
        .drop_nulls("gap")
        .group_by("athlete", "exercise")
        .agg(pl.col("gap").max())["gap"]
    )
    assert len(off) > 50
    assert off.max() < 0.13
    assert (off < 0.06).mean() > 0.9


@pytest.fixture(scope="module")
def ends(trends):
    last = trends.lines.sort("date").group_by("athlete", "exercise", maintain_order=True).last()
    recent = trends.lifts.filter(
        pl.col("sessions") >= 10, pl.col("last_date") > pl.col("last_date").max().dt.offset_by("-14d")
    )
    return recent.join(last, on=["athlete", "exercise"], suffix="_line")


def test_the_line_ends_at_the_strength_that_is_told(ends):
    gap = np.abs(np.log(ends["strength_kg_line"] / ends["strength_kg"]))
    assert gap.max() < 0.01


def test_the_slope_at_the_end_of_the_line_lies_inside_the_interval_that_is_told(ends):
    slope = ends["slope_pct_per_week_line"]
    inside = slope.is_between(ends["slope_low"] - 0.02, ends["slope_high"] + 0.02)
    assert inside.mean() > 0.95


def test_no_line_goes_against_a_call(ends):
    rising = ends.filter(pl.col("state") == "progressing")["slope_pct_per_week_line"]
    falling = ends.filter(pl.col("state") == "regressing")["slope_pct_per_week_line"]
    assert (rising > 0).mean() > 0.97
    assert falling.is_empty() or (falling < 0).mean() > 0.97
