from datetime import date, timedelta

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from analytics.muscles import count_weeks, uncounted
from analytics.schema import MUSCLE_WEEKS, ROLES, breaches

SUNDAY = date(2026, 11, 22)
MONDAY = date(2026, 11, 16)


def week_of(weeks: pl.DataFrame, muscle: str, week: str = "2026-W47") -> dict:
    return weeks.filter((pl.col("muscle") == muscle) & (pl.col("week") == week)).row(0, named=True)


def counts(weeks: pl.DataFrame, muscle: str) -> tuple[float, float, float]:
    row = week_of(weeks, muscle)
    return row["total_sets"], row["fractional_sets"], row["direct_sets"]


def test_fractional_count_of_pressing(make_sets, catalogue):
    # Pelland et al. 2025, Sports Med: indirect sets count 1 (total), 0.5 (fractional), 0 (direct).
    sets = make_sets(
        *[{"exercise": "bench_press"}] * 4, *[{"exercise": "triceps_pushdown", "position": 2}] * 3
    )
    assert counts(count_weeks(sets, catalogue, SUNDAY), "triceps") == (7, 5, 3)


def test_fractional_count_of_pulling(make_sets, catalogue):
    # Same rule: 5 rows and 6 curls for the biceps.
    sets = make_sets(*[{"exercise": "barbell_row"}] * 5, *[{"exercise": "barbell_curl", "position": 2}] * 6)
    assert counts(count_weeks(sets, catalogue, SUNDAY), "biceps") == (11, 8.5, 6)


def test_warm_ups_never_count(make_sets, catalogue):
    # Common practice, no source.
    with_warm_ups = make_sets({"role": "warm_up", "load_kg": 20.0, "reps": 20}, {"role": "warm_up"}, {}, {})
    row = week_of(count_weeks(with_warm_ups, catalogue, SUNDAY), "chest")
    assert (row["total_sets"], row["reps"], row["tonnage_kg"]) == (2, 16, 960)


def test_drop_chain_is_one_set_and_both_readings_are_told(make_sets, catalogue):
    # One set by default: no published rule; drop and ordinary sets do the same (Coleman 2022, Sodal 2023).
    sets = make_sets(
        {"load_kg": 100.0, "chain": 1},
        {"load_kg": 80.0, "chain": 1, "role": "drop"},
        {"load_kg": 60.0, "chain": 1, "role": "drop"},
    )
    weeks = count_weeks(sets, catalogue, SUNDAY)
    assert len(sets) == 3
    chest, triceps = week_of(weeks, "chest"), week_of(weeks, "triceps")
    assert (chest["fractional_low"], chest["fractional_sets"], chest["fractional_high"]) == (1, 1, 3)
    assert (triceps["fractional_low"], triceps["fractional_sets"], triceps["fractional_high"]) == (0, 0.5, 3)
    assert chest["tonnage_kg"] == 8 * (100 + 80 + 60)


@pytest.mark.parametrize("role", ["drop", "rest_pause"])
@pytest.mark.parametrize("chain", [None, 1])
def test_chain_without_head_is_one_set(make_sets, catalogue, role, chain):
    sets = make_sets({"role": role, "chain": chain}, {"role": role, "chain": chain})
    row = week_of(count_weeks(sets, catalogue, SUNDAY), "chest")
    assert (row["direct_sets"], row["fractional_high"]) == (1, 2)


def test_unnumbered_drops_belong_to_the_set_before(make_sets, catalogue):
    sets = make_sets({}, {"role": "drop"}, {}, {"role": "drop"}, {"role": "drop"})
    row = week_of(count_weeks(sets, catalogue, SUNDAY), "chest")
    assert (row["direct_sets"], row["fractional_high"]) == (2, 5)


def test_a_segment_after_a_warm_up_is_a_head(make_sets, catalogue):
    sets = make_sets({"role": "warm_up"}, {"role": "rest_pause"}, {"role": "rest_pause"})
    assert week_of(count_weeks(sets, catalogue, SUNDAY), "chest")["direct_sets"] == 1


@pytest.mark.parametrize("rir, counted", [(None, 1), (0.0, 1), (4.0, 1), (4.5, 0), (8.0, 0)])
def test_easy_sets_do_not_count(make_sets, catalogue, rir, counted):
    # A hard set is one with at most four reps in reserve, where it is known (common practice, no source).
    assert counts(count_weeks(make_sets({"rir": rir}), catalogue, SUNDAY), "chest")[0] == counted


def test_pairs_lift_twice_the_load(make_sets, catalogue):
    sets = make_sets({"exercise": "dumbbell_bench_press", "load_kg": 22.5, "reps": 10, "implements": 2})
    assert week_of(count_weeks(sets, catalogue, SUNDAY), "chest")["tonnage_kg"] == 450


def test_left_and_right_together_are_one_set(make_sets, catalogue):
    sides = [{"exercise": "dumbbell_row", "side": side, "reps": 10} for side in ("left", "right")] * 3
    row = week_of(count_weeks(make_sets(*sides), catalogue, SUNDAY), "lats")
    assert (row["direct_sets"], row["left_sets"], row["right_sets"], row["reps"]) == (3, 3, 3, 30)


def test_rep_ranges_and_effort(make_sets, catalogue):
    sets = make_sets(
        {"reps": 5, "rir": 1.0}, {"reps": 6, "rir": 2.0}, {"reps": 12}, {"reps": 13, "rir": 3.0}, {"reps": 20}
    )
    row = week_of(count_weeks(sets, catalogue, SUNDAY), "chest")
    shares = [row[f"share_reps_{name}"] for name in ("1_5", "6_12", "13_up")]
    assert shares == pytest.approx([0.2, 0.4, 0.4])
    assert row["mean_rir"] == pytest.approx(2.0)


def test_suspect_sets_count_but_lend_no_load(make_sets, catalogue):
    row = week_of(count_weeks(make_sets({}, {"load_kg": 800.0, "suspect": True}), catalogue, SUNDAY), "chest")
    assert (row["direct_sets"], row["tonnage_kg"], row["reps"]) == (2, 480, 8)


def test_days_with_work_as_prime_mover(make_sets, catalogue):
    sets = make_sets({}, {}, {"date": date(2026, 11, 19)}, {"date": SUNDAY, "role": "warm_up"})
    weeks = count_weeks(sets, catalogue, SUNDAY)
    assert week_of(weeks, "chest")["days"] == 2
    assert week_of(weeks, "triceps")["days"] == 0


def test_weeks_off_hold_zeros_for_every_group(make_sets, catalogue):
    weeks = count_weeks(make_sets({"date": date(2026, 10, 27)}, {}), catalogue, SUNDAY)
    assert weeks.height == 4 * len(catalogue.muscles)
    assert week_of(weeks, "chest", "2026-W45")["total_sets"] == 0
    assert week_of(weeks, "chest", "2026-W45")["mean_rir"] is None


@pytest.mark.parametrize(
    "day, week",
    # ISO 8601 examples as printed in public descriptions of the standard.
    [
        (date(2012, 12, 31), "2013-W01"),
        (date(2019, 12, 30), "2020-W01"),
        (date(2005, 1, 1), "2004-W53"),
        (date(2010, 1, 3), "2009-W53"),
    ],
)
def test_iso_weeks(make_sets, catalogue, day, week):
    weeks = count_weeks(make_sets({"date": day}), catalogue, day)
    assert set(weeks["week"]) == {week}
    assert set(weeks["week_end"].dt.weekday()) == {7}


def test_unknown_exercises_are_listed_not_counted(make_sets, catalogue):
    sets = make_sets({}, {"exercise": "odd-machine"}, {"exercise": "odd-machine", "role": "warm_up"})
    assert counts(count_weeks(sets, catalogue, SUNDAY), "chest")[0] == 1
    assert uncounted(sets, catalogue, SUNDAY).to_dicts() == [
        {"athlete": "wren", "exercise": "odd-machine", "sets": 1, "last_date": MONDAY}
    ]


def test_an_empty_table_gives_an_empty_table(make_sets, catalogue):
    assert count_weeks(make_sets(), catalogue, SUNDAY).schema == MUSCLE_WEEKS.empty().schema


set_rows = st.lists(
    st.fixed_dictionaries(
        {
            "athlete": st.sampled_from(["wren", "heron"]),
            "date": st.integers(0, 20).map(lambda days: SUNDAY - timedelta(days=days)),
            "exercise": st.sampled_from(["bench_press", "barbell_row", "back_squat", "odd-machine"]),
            "role": st.sampled_from(ROLES),
            "chain": st.sampled_from([None, 1, 2]),
            "side": st.sampled_from([None, "left", "right"]),
            "rir": st.sampled_from([None, 0.0, 3.0, 6.0]),
            "reps": st.sampled_from([None, 0, 5, 12, 30]),
        }
    ),
    min_size=1,
    max_size=30,
)
quiet = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@quiet
@given(rows=set_rows)
def test_laws(make_sets, catalogue, rows):
    sets = make_sets(*rows)
    weeks = count_weeks(sets, catalogue, SUNDAY)
    assert breaches(weeks, MUSCLE_WEEKS).is_empty()
    # direct <= fractional <= total (algebra), and the readings bracket the count.
    ordered = weeks.filter(
        (pl.col("direct_sets") <= pl.col("fractional_sets"))
        & (pl.col("fractional_sets") <= pl.col("total_sets"))
        & (pl.col("fractional_low") <= pl.col("fractional_sets"))
        & (pl.col("total_sets") <= pl.col("fractional_high"))
    )
    assert ordered.height == weeks.height
    # One athlete's rows do not change another's; order of rows and rows after the date do not matter.
    alone = count_weeks(sets.filter(pl.col("athlete") == "wren"), catalogue, SUNDAY)
    assert_frame_equal(alone, weeks.filter(pl.col("athlete") == "wren"), check_exact=True)
    assert_frame_equal(count_weeks(sets.reverse(), catalogue, SUNDAY), weeks, check_exact=True)
    later = sets.with_columns(date=pl.lit(SUNDAY + timedelta(days=1)))
    assert_frame_equal(count_weeks(pl.concat([sets, later]), catalogue, SUNDAY), weeks, check_exact=True)


def test_a_chain_may_name_its_side_only_once(make_sets, catalogue):
    sets = make_sets(
        {"exercise": "dumbbell_row", "side": "left", "chain": 1},
        {"exercise": "dumbbell_row", "role": "drop", "chain": 1},
        {"exercise": "dumbbell_row", "side": "right", "chain": 2},
        {"exercise": "dumbbell_row", "side": "right", "role": "drop", "chain": 2},
    )
    assert week_of(count_weeks(sets, catalogue, SUNDAY), "lats")["direct_sets"] == 1
