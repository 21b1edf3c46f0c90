from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics.muscles import BalanceInputs, balance, count_weeks
from analytics.schema import BALANCE, CHECKINS, breaches, conform

SUNDAY = date(2026, 11, 22)
MONDAY = date(2026, 11, 16)


@pytest.fixture
def weigh(catalogue):
    def run(sets, checkins=()):
        schema = {column.name: column.dtype for column in CHECKINS.columns}
        found = balance(
            BalanceInputs(
                weeks=count_weeks(sets, catalogue, SUNDAY),
                sets=sets,
                checkins=conform(pl.DataFrame(list(checkins), schema=schema), CHECKINS),
                catalogue=catalogue,
                as_of=SUNDAY,
            )
        )
        assert breaches(found, BALANCE).is_empty()
        return found

    return run


def rows_of(weeks, exercise, counts, **more):
    return [
        {"date": MONDAY - timedelta(weeks=week), "exercise": exercise, **more}
        for week in range(weeks)
        for _ in range(counts[week] if isinstance(counts, list) else counts)
    ]


def one(found, kind, start):
    return found.filter((pl.col("kind") == kind) & pl.col("pair").str.starts_with(start)).row(0, named=True)


def test_opposing_groups(make_sets, weigh):
    sets = make_sets(*rows_of(6, "leg_extension", 6), *rows_of(6, "seated_leg_curl", 3, position=2))
    row = one(weigh(sets), "opposing_sets", "Quads")
    assert (row["ratio"], row["ratio_low"], row["ratio_high"]) == pytest.approx((2, 2, 2))
    assert row["basis"] == "36.0 beside 18.0 fractional sets in 6 weeks"


def test_uneven_weeks_widen_the_interval(make_sets, weigh):
    sets = make_sets(
        *rows_of(6, "leg_extension", [2, 10, 4, 8, 3, 9]), *rows_of(6, "seated_leg_curl", 3, position=2)
    )
    row = one(weigh(sets), "opposing_sets", "Quads")
    assert row["ratio_low"] < 1.7 < row["ratio"] < 2.3 < row["ratio_high"]


def test_a_pair_with_nothing_on_one_side_is_left_out(make_sets, weigh):
    found = weigh(make_sets(*rows_of(6, "leg_extension", 6)))
    assert found.filter(pl.col("kind") == "opposing_sets").is_empty()


def test_left_against_right(make_sets, weigh):
    rows = []
    for day in range(10):
        for side, load in (("left", 18.0), ("right", 20.0)):
            rows.append(
                {
                    "date": SUNDAY - timedelta(days=3 * day),
                    "exercise": "dumbbell_row",
                    "side": side,
                    "load_kg": load,
                    "reps": 10,
                }
            )
    found = weigh(make_sets(*rows))
    row = one(found, "left_right_strength", "Lats")
    assert row["ratio"] == pytest.approx(0.9)
    assert row["ratio_low"] < 0.9 < row["ratio_high"] < 1
    assert one(found, "left_right_sets", "Lats")["ratio"] == pytest.approx(1)


def test_exercise_and_formula_cancel(make_sets, weigh):
    # Law: any constant factor on all loads leaves the ratio alone.
    rows = [
        {"exercise": "dumbbell_row", "side": side, "load_kg": load, "date": MONDAY + timedelta(days=day)}
        for day, pair in enumerate([(20.0, 22.0), (21.0, 22.0), (20.0, 24.0)])
        for side, load in zip(("left", "right"), pair, strict=True)
    ]
    heavier = [dict(row, load_kg=3 * row["load_kg"]) for row in rows]
    assert_frame_equal(weigh(make_sets(*rows)), weigh(make_sets(*heavier)))


def test_girths_of_both_sides(make_sets, weigh):
    points = [
        {
            "athlete": "wren",
            "date": SUNDAY - timedelta(weeks=2 * week),
            "measure": "calf",
            "side": side,
            "value": value,
            "unit": "cm",
        }
        for week in range(4)
        for side, value in (("left", 38.0), ("right", 40.0))
    ]
    row = one(weigh(make_sets({}), points), "left_right_girth", "Calf girth")
    assert row["ratio"] == pytest.approx(0.95)
    assert row["ratio_high"] < 1


def test_intervals_cover_the_truth_about_as_often_as_they_say(make_sets, weigh):
    # Simulated: a true ratio of 0.95, with 5 % scatter of each day's difference.
    generator = np.random.default_rng(11)
    rows = []
    for number in range(300):
        for day in range(6):
            load = 20 * np.exp(0.05 * generator.normal())
            for side, value in (("left", 0.95 * load), ("right", 20.0)):
                rows.append(
                    {
                        "athlete": f"a{number}",
                        "date": SUNDAY - timedelta(days=7 * day),
                        "exercise": "dumbbell_row",
                        "side": side,
                        "load_kg": value,
                    }
                )
    found = weigh(make_sets(*rows)).filter(
        (pl.col("kind") == "left_right_strength") & pl.col("pair").str.starts_with("Lats")
    )
    inside = (found["ratio_low"] <= 0.95) & (found["ratio_high"] >= 0.95)
    assert len(inside) == 300
    assert 0.73 <= inside.mean() <= 0.87


def test_other_athletes_change_nothing(make_sets, weigh):
    own = rows_of(6, "leg_extension", [2, 10, 4, 8, 3, 9]) + rows_of(6, "seated_leg_curl", 3, position=2)
    other = [dict(row, athlete="heron") for row in rows_of(3, "leg_extension", 5)]
    together = weigh(make_sets(*own, *other))
    assert_frame_equal(together.filter(pl.col("athlete") == "wren"), weigh(make_sets(*own)), check_exact=True)
