"""Session estimates: which sets can tell, and how sure they are."""

from datetime import date

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics import schema
from analytics.strength import estimate_sessions
from analytics.strength.session import rir_error_reps


def set_rows(*rows, exercise="bench_press", day=date(2026, 3, 2)):
    """A set table from (role, load, reps, rir) rows; a dict overrides any column."""
    table = []
    for number, row in enumerate(rows, start=1):
        more = row[4] if len(row) > 4 else {}
        role, load, reps, rir = row[:4]
        table.append(
            {
                "athlete": "heron",
                "date": day,
                "session": 1,
                "position": 1,
                "set_number": number,
                "exercise": exercise,
                "exercise_as_logged": exercise,
                "family": "horizontal_press",
                "role": role,
                "role_source": "logged",
                "chain": None,
                "superset": None,
                "side": None,
                "load_kg": load,
                "added_kg": None,
                "implements": 1,
                "reps": reps,
                "seconds": None,
                "rir": rir,
                "rest_s": None,
                "suspect": False,
                "note": None,
                "source_file": "a.csv",
                "source_row": number,
                **more,
            }
        )
    return schema.conform(pl.DataFrame(table, infer_schema_length=None), schema.SETS)


def test_only_working_and_back_off_sets_tell():
    told = estimate_sessions(
        set_rows(
            ("warm_up", 140.0, 5, None),
            ("working", 100.0, 8, 0.0),
            ("drop", 150.0, 8, 0.0),
            ("back_off", 90.0, 8, 2.0),
            ("rest_pause", 150.0, 3, 0.0),
            ("working", 900.0, 8, 0.0, {"suspect": True}),
        )
    )
    assert told["sets_used"].to_list() == [2]
    assert told["set_numbers"].to_list() == ["2,4"]
    assert told["top_load_kg"].to_list() == [100.0]
    assert schema.breaches(told, schema.SESSIONS).is_empty()


@pytest.mark.parametrize(
    "row",
    [
        ("warm_up", 60.0, 10, None),
        ("drop", 60.0, 10, None),
        ("working", 0.0, 10, None),
        ("working", 60.0, 0, None),
        ("working", 60.0, 60, None),
        ("working", None, 10, None),
        ("working", 60.0, None, None),
    ],
)
def test_a_day_without_a_telling_set_has_no_row(row):
    assert estimate_sessions(set_rows(row)).is_empty()


def test_a_true_single_is_the_maximum():
    # By definition of a one-repetition maximum.
    told = estimate_sessions(set_rows(("working", 142.5, 1, 0.0)))
    assert told["e1rm_kg"].item() == pytest.approx(142.5, rel=1e-12)


def test_error_grows_with_repetitions_and_with_effort_not_logged():
    def error(reps, rir):
        return estimate_sessions(set_rows(("working", 100.0, reps, rir)))["log_se"].item()

    assert error(3, 0.0) < error(6, 0.0) < error(12, 0.0) < error(20, 0.0)
    assert error(8, 0.0) < error(8, 2.0) < error(8, None)


def test_error_of_reported_reserve_within_the_measured_bands():
    # Hackett et al. 2017, JSCR 31:2162-2168: about one repetition with 0-5 left, over two with 7-10 left.
    near, far = rir_error_reps(np.arange(0.0, 6)), rir_error_reps(np.arange(7.0, 11))
    assert near.mean() == pytest.approx(1.0, abs=0.25)
    assert (far >= 2).all()


def test_sets_far_from_failure_say_less():
    # Hackett et al. 2017: errors of over two repetitions where many are left.  A deload's sets share theirs.
    def noise(rir, sets=3):
        return estimate_sessions(set_rows(*[("working", 100.0, 8, rir)] * sets))["log_noise"].item()

    assert noise(6.0) > 2 * noise(2.0)
    per_rep = np.log((1 + 15 / 30) / (1 + 14 / 30))  # Epley 1985, from 14 to 15 repetitions
    assert noise(6.0, sets=10) > 0.9 * per_rep


def test_more_sets_make_it_surer():
    one = estimate_sessions(set_rows(("working", 100.0, 8, 1.0)))["log_noise"].item()
    three = estimate_sessions(set_rows(*[("working", 100.0, 8, 1.0)] * 3))["log_noise"].item()
    assert three < one


def test_a_chosen_formula_takes_the_best_set_within_its_range():
    rows = set_rows(("working", 100.0, 5, 0.0), ("working", 80.0, 12, 0.0), ("back_off", 95.0, 8, 0.0))
    told = estimate_sessions(rows, "epley")
    # Epley 1985: 95 x (1 + 8 / 30); twelve repetitions are beyond its range.
    assert told["e1rm_kg"].item() == pytest.approx(95 * (1 + 8 / 30), rel=1e-12)
    assert told["set_numbers"].item() == "3"
    assert estimate_sessions(set_rows(("working", 80.0, 12, 0.0)), "epley").is_empty()
    with pytest.raises(KeyError):
        estimate_sessions(rows, "no_such_formula")


LOADS = st.floats(min_value=5, max_value=400, allow_nan=False)
ROWS = st.lists(
    st.tuples(
        st.sampled_from(schema.ROLES),
        LOADS,
        st.integers(min_value=1, max_value=25),
        st.one_of(st.none(), st.integers(min_value=0, max_value=5).map(float)),
    ),
    min_size=1,
    max_size=8,
)


@settings(max_examples=60, deadline=None)
@given(ROWS, st.randoms(use_true_random=False))
def test_row_order_changes_nothing(rows, random):
    table = set_rows(*rows)
    order = list(range(len(table)))
    random.shuffle(order)
    assert estimate_sessions(table).equals(estimate_sessions(table[order]))


@settings(max_examples=60, deadline=None)
@given(ROWS)
def test_the_unit_of_load_changes_nothing_but_the_unit(rows):
    in_kg = estimate_sessions(set_rows(*rows))
    scaled = [(role, load * schema.KG_PER_LB, reps, rir) for role, load, reps, rir in rows]
    in_lb = estimate_sessions(set_rows(*scaled))
    np.testing.assert_allclose(in_lb["e1rm_kg"], in_kg["e1rm_kg"] * schema.KG_PER_LB, rtol=1e-9)
    np.testing.assert_allclose(in_lb["log_se"], in_kg["log_se"], rtol=1e-9)


@settings(max_examples=60, deadline=None)
@given(LOADS, st.integers(min_value=1, max_value=24), st.one_of(st.none(), st.just(0.0), st.just(2.0)))
def test_one_repetition_more_never_means_less_strength(load, reps, rir):
    fewer = estimate_sessions(set_rows(("working", load, reps, rir)))["e1rm_kg"].item()
    more = estimate_sessions(set_rows(("working", load, reps + 1, rir)))["e1rm_kg"].item()
    assert more > fewer


def test_exercises_are_never_mixed():
    table = pl.concat(
        [
            set_rows(("working", 100.0, 5, 0.0)),
            set_rows(("working", 40.0, 5, 0.0), exercise="dumbbell_bench_press"),
        ]
    )
    assert len(estimate_sessions(table)) == 2
