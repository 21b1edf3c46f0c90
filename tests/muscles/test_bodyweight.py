from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics.muscles import bodyweight
from analytics.muscles.lines import Sums, fit_lines
from analytics.muscles.states import FORCE_EXPONENT, expected_loss, kept_limit
from analytics.roster import Athlete, Phase, Roster
from analytics.schema import BODYWEIGHT, CHECKINS, breaches, conform

START = date(2026, 9, 7)
CUT = Roster(
    title="Demo",
    athletes=(
        Athlete(id="wren", name="Wren", phases=(Phase(name="cut", start=START),)),
        Athlete(id="heron", name="Heron"),
    ),
)


def checkins(*points: tuple[int, float], athlete: str = "wren") -> pl.DataFrame:
    rows = [
        {
            "athlete": athlete,
            "date": START + timedelta(days=day),
            "measure": "bodyweight",
            "value": kg,
            "unit": "kg",
        }
        for day, kg in points
    ]
    schema = {column.name: column.dtype for column in CHECKINS.columns}
    return conform(pl.DataFrame(rows, schema=schema), CHECKINS)


def last(*points: tuple[int, float]) -> dict:
    return bodyweight(checkins(*points), CUT, START + timedelta(days=99)).row(-1, named=True)


def test_two_kilograms_in_two_weeks_is_too_fast():
    # Helms, Aragon and Fitschen 2014, JISSN 11:20: 0.5-1 % a week.  80 to 78 kg in two weeks is 1.25 %.
    row = last((0, 80.0), (14, 78.0))
    assert row["pct_per_week"] == pytest.approx(-1.25, abs=1e-9)
    assert (row["band"], row["caution"]) == ("faster", True)
    assert "qualified practitioner" in row["why"]


@pytest.mark.parametrize(
    "kg, band", [(79.61, "slower"), (79.6, "inside"), (79.2, "inside"), (79.19, "faster")]
)
def test_band_of_one_week_from_80_kg(kg, band):
    # The same band: 0.40 to 0.80 kg a week at 80 kg.
    assert last((0, 80.0), (7, kg))["band"] == band


def test_a_few_days_of_scatter_are_no_reason_for_caution():
    assert last((0, 80.0), (7, 79.1))["caution"] is False


def test_a_dive_within_days_is():
    assert last((0, 80.0), (2, 79.0), (5, 77.0))["caution"] is True


def test_caution_needs_no_cut():
    points = checkins((0, 80.0), (14, 78.0), athlete="heron")
    row = bodyweight(points, CUT, START + timedelta(days=99)).row(-1, named=True)
    assert (row["phase"], row["band"], row["caution"]) == (None, None, True)


def test_one_check_in_gives_no_rate():
    row = last((0, 80.0))
    assert row["pct_per_week"] is None
    assert row["band"] is None


def test_the_build_before_a_cut_does_not_hide_its_rate():
    row = last((-28, 77.0), (-21, 78.0), (-14, 79.0), (-7, 80.0), (0, 81.0), (7, 80.2), (14, 79.4))
    assert row["pct_per_week"] == pytest.approx(-100 * 0.8 / 81, abs=1e-6)


def test_intervals_cover_the_truth_about_as_often_as_they_say():
    # Simulated: a steady loss of 0.7 % a week with 0.6 % scatter, weekly check-ins.
    generator = np.random.default_rng(20261122)
    many = []
    for number in range(400):
        kg = 80 * (1 - 0.007 * np.arange(5)) + generator.normal(0, 0.48, 5)
        many.append(checkins(*((7 * week, kg[week]) for week in range(5)), athlete=f"a{number}"))
    table = bodyweight(pl.concat(many), CUT, START + timedelta(days=99)).filter(
        pl.col("date") == START + timedelta(days=28)
    )
    inside = (table["pct_low"] <= -0.7) & (table["pct_high"] >= -0.7)
    assert len(inside) == 400
    assert 0.74 <= inside.mean() <= 0.86


def test_rows_after_the_date_and_other_athletes_change_nothing():
    own, other = checkins((0, 80.0), (7, 79.5)), checkins((0, 60.0), (3, 66.0), athlete="heron")
    later = checkins((50, 70.0))
    as_of = START + timedelta(days=10)
    alone = bodyweight(own, CUT, as_of)
    together = bodyweight(pl.concat([other, later, own]), CUT, as_of)
    assert_frame_equal(together.filter(pl.col("athlete") == "wren"), alone, check_exact=True)
    assert breaches(together, BODYWEIGHT).is_empty()


def test_no_check_ins_give_an_empty_table():
    assert bodyweight(checkins(), CUT, START).schema == BODYWEIGHT.empty().schema


def test_line_through_exact_points():
    t, y = np.array([0.0, 7, 14, 21]), np.array([80.0, 79.5, 79.0, 78.5])
    one = lambda value: np.array([float(value)])  # noqa: E731
    sums = Sums(n=one(4), t=one(t.sum()), tt=one(t @ t), y=one(y.sum()), ty=one(t @ y), yy=one(y @ y))
    line = fit_lines(sums, one(0), one(21), one(0.5))
    assert (line.start[0], line.end[0], line.slope[0]) == pytest.approx((80.0, 78.5, -0.5 / 7))


def test_loss_that_bodyweight_explains():
    # Jaric 2002, Sports Med 32:615: S / m^0.67.  100 kg at 80 kg scores 5.3080.
    score = 100 / 80**FORCE_EXPONENT
    assert score == pytest.approx(5.3080, abs=1e-4)
    # Strength that keeps this score while bodyweight falls by 1 % a week falls by 0.67 % a week.
    kept = 100 * np.log(score * (80 * 0.99) ** FORCE_EXPONENT / 100)
    explained = expected_loss(np.array([True, False]), np.array([100 * np.log(0.99), -1.0]))
    assert explained == pytest.approx([kept, 0.0])


def test_what_counts_as_kept():
    losing = np.array([True, True, False])
    limit = kept_limit(losing, np.array([-1.0, 0.5, -1.0]), np.array([0.6, 0.6, 0.04]))
    assert limit == pytest.approx([-0.77, -0.1, 0.06])
    assert kept_limit(losing[2:], np.array([0.0]), np.array([0.6])) == pytest.approx([0.3])


def test_a_loss_that_may_be_too_fast_is_told_before_it_surely_is(demo_tables):
    told = demo_tables["bodyweight"].filter(band="inside", caution=False)
    near = told.filter(told["pct_low"] < -1)
    far = told.filter(told["pct_low"] > -1)
    assert near["why"].str.contains("near the fast end").all()
    assert not far["why"].str.contains("near the fast end").any()
    assert near.height + far.height == told.height > 0
