"""Inferred roles over whole logs: what must hold for any input, and how often they are right."""

from datetime import timedelta

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from analytics import schema
from analytics.evidence.role_check import WORLDS, check_roles, unlabelled
from analytics.intake.table.roles import assign_roles
from analytics.simulate import World, simulate_roster


@pytest.fixture(scope="module")
def sets() -> pl.DataFrame:
    return unlabelled(simulate_roster(World(), 12, 20, 21).sets)


def test_rows_and_other_columns_stay_as_they_are(sets: pl.DataFrame) -> None:
    found = assign_roles(sets)
    judged = ["role", "role_source", "chain"]
    assert_frame_equal(found.drop(judged), sets.drop(judged))
    assert found.columns == sets.columns
    assert schema.breaches(found, schema.SETS).is_empty()


def test_later_days_never_change_earlier_roles(sets: pl.DataFrame) -> None:
    whole = assign_roles(sets)
    for weeks in (3, 9, 15):
        cut = sets["date"].min() + timedelta(weeks=weeks)
        assert_frame_equal(
            assign_roles(sets.filter(pl.col("date") < cut)), whole.filter(pl.col("date") < cut)
        )


def test_athletes_do_not_depend_on_each_other(sets: pl.DataFrame) -> None:
    whole = assign_roles(sets)
    one = pl.col("athlete") == "a00005"
    assert_frame_equal(assign_roles(sets.filter(one)), whole.filter(one))


def test_judging_twice_is_judging_once(sets: pl.DataFrame) -> None:
    once = assign_roles(sets)
    twice = assign_roles(once)
    assert_frame_equal(twice.drop("role_source"), once.drop("role_source"))


def test_pounds_and_kilograms_give_the_same_roles(sets: pl.DataFrame) -> None:
    scaled = sets.with_columns(pl.col("load_kg") * schema.KG_PER_LB)
    assert assign_roles(scaled)["role"].equals(assign_roles(sets)["role"])


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.one_of(st.none(), st.floats(0, 1000)),
            st.one_of(st.none(), st.integers(0, 200)),
            st.one_of(st.none(), st.floats(0, 10)),
            st.one_of(st.none(), st.floats(0, 600)),
            st.sampled_from([None, "left", "right"]),
            st.sampled_from([None, *schema.ROLES]),
        ),
        min_size=1,
        max_size=14,
    )
)
def test_any_sets_get_a_role(sets: pl.DataFrame, rows: list[tuple[object, ...]]) -> None:
    columns = ["load_kg", "reps", "rir", "rest_s", "side", "role"]
    types = {name: schema.SETS.empty().schema[name] for name in columns}
    drawn = pl.DataFrame(rows, schema=types, orient="row")
    frame = pl.concat([sets.head(1)] * len(rows)).with_columns(drawn.get_columns())
    frame = frame.with_columns(set_number=pl.int_range(1, pl.len() + 1, dtype=pl.Int32))
    found = assign_roles(frame)
    assert found["role"].null_count() == 0
    assert (
        found.filter(pl.col("role_source") == "logged")["role"].to_list()
        == drawn["role"].drop_nulls().to_list()
    )
    assert found.filter((pl.col("role") == "drop") & pl.col("chain").is_null()).is_empty()


@pytest.mark.slow
@pytest.mark.parametrize("seed", [501, 502])
def test_roles_are_right_on_logs_with_their_labels_taken_away(seed: int) -> None:
    figures = check_roles(WORLDS, 60, 26, seed)
    assert figures["all"].min() >= 0.97
    assert (figures["all"] > figures["simple_rule"] + 0.1).all()
    assert figures["drop_recall"].min() >= 0.95
    assert figures["drop_precision"].min() >= 0.93
    default = figures.filter(pl.col("world") == "default")
    assert default["drop_precision"].item() >= 0.95
    assert default["warm_up_recall"].item() >= 0.97
    assert default["back_off_recall"].item() >= 0.95
