"""Roles of whole exercises as any coach would tell them (common practice, no source)."""

from datetime import date

import polars as pl
import pytest

from analytics import schema
from analytics.intake.table.roles import assign_roles

LB = schema.KG_PER_LB
W, N, B, D, P = "warm_up", "working", "back_off", "drop", "rest_pause"


def log(
    *sets: tuple[float, int], unit_kg: float = 1.0, rest: list[float | None] | None = None
) -> pl.DataFrame:
    """One exercise of one day from (load, reps), nothing told."""
    rows = [
        {
            "athlete": "finch",
            "date": date(2026, 3, 2),
            "session": 1,
            "position": 1,
            "set_number": i + 1,
            "exercise": "lift",
            "exercise_as_logged": "Lift",
            "load_kg": load * unit_kg,
            "reps": reps,
            "rest_s": None if rest is None else rest[i],
            "suspect": False,
            "source_file": "x",
            "source_row": i + 1,
        }
        for i, (load, reps) in enumerate(sets)
    ]
    frame = pl.DataFrame(rows, schema_overrides={"rest_s": pl.Float64})
    missing = [c for c in schema.SETS.columns if c.name not in frame.columns]
    return frame.with_columns(pl.lit(None, c.dtype).alias(c.name) for c in missing).select(schema.SETS.names)


FACTS = {
    "two warm-ups of 18 to 20 reps before three rising working sets": (
        [(95, 20), (115, 18), (155, 12), (175, 10), (195, 8)],
        [W, W, N, N, N],
    ),
    "the same with working sets of equal reps": (
        [(40, 20), (50, 18), (70, 10), (75, 10), (80, 9)],
        [W, W, N, N, N],
    ),
    "the same with equal reps and larger steps": (
        [(30, 20), (40, 18), (60, 10), (70, 10), (80, 10)],
        [W, W, N, N, N],
    ),
    "a ramp of fives to a top five": ([(40, 5), (60, 5), (80, 5), (100, 5), (100, 5)], [W, W, W, N, N]),
    "a top set of eight followed by two drops of 40 to 45 lb at eight": (
        [(95, 18), (135, 12), (155, 10), (180, 8), (140, 8), (95, 8)],
        [W, N, N, N, D, D],
    ),
    "that top set alone": ([(180, 8), (140, 8), (95, 8)], [N, D, D]),
    "lighter drops of 40 lb": ([(160, 8), (160, 8), (120, 8), (80, 8)], [N, N, D, D]),
    "one drop only on a compound": ([(225, 8), (225, 7), (225, 7), (155, 8)], [N, N, N, D]),
    "one drop after a pyramid": ([(185, 10), (205, 8), (225, 6), (165, 7)], [N, N, N, D]),
    "a machine at 15 to 18 reps": ([(100, 18), (100, 17), (100, 15)], [N, N, N]),
    "a machine at 15 to 18 reps, rising": ([(90, 18), (100, 16), (110, 15)], [N, N, N]),
    "four working sets as a pyramid": ([(135, 12), (155, 10), (175, 8), (195, 6)], [N, N, N, N]),
    "four working sets as a pyramid in kilograms": ([(60, 12), (70, 10), (80, 8), (90, 6)], [N, N, N, N]),
    "a ramp to three straight sets": (
        [(20, 10), (60, 5), (80, 3), (100, 5), (100, 5), (100, 5)],
        [W, W, W, N, N, N],
    ),
    "a top set and two back-off sets": ([(60, 8), (100, 5), (85, 6), (85, 6)], [W, N, B, B]),
    "straight sets to failure": ([(80, 10), (80, 9), (80, 7), (80, 6)], [N, N, N, N]),
    "a rest-pause after the last set": ([(80, 12), (80, 11), (80, 4), (80, 3)], [N, N, P, P]),
    "nothing but one set": ([(80, 10)], [N]),
    "a light warm-up and one hard set": ([(40, 15), (80, 10)], [W, N]),
}


@pytest.mark.parametrize("unit_kg", [1.0, LB], ids=["kg", "lb"])
@pytest.mark.parametrize("fact", FACTS, ids=str)
def test_common_practice(fact: str, unit_kg: float) -> None:
    sets, roles = FACTS[fact]
    found = assign_roles(log(*sets, unit_kg=unit_kg))
    assert found["role"].to_list() == roles
    assert set(found["role_source"]) == {"inferred"}


def test_rest_decides_between_drop_and_back_off() -> None:
    sets = [(100.0, 8), (80.0, 8)]
    assert assign_roles(log(*sets, rest=[None, 5]))["role"].to_list() == [N, D]
    assert assign_roles(log(*sets, rest=[None, 150]))["role"].to_list() == [N, B]


def test_a_chain_is_its_head_and_its_drops() -> None:
    found = assign_roles(log((100, 10), (100, 9), (75, 9), (55, 8)))
    assert found["chain"].to_list() == [None, 1, 1, 1]
    twice = assign_roles(log((100, 10), (72, 9), (100, 8), (72, 8)))
    assert twice["role"].to_list() == [N, D, N, D]
    assert twice["chain"].to_list() == [1, 1, 2, 2]


def test_what_the_log_tells_stands() -> None:
    sets = log((60, 10), (100, 8), (100, 8), (75, 8))
    told = sets.with_columns(role=pl.Series([None, None, "back_off", "working"]))
    found = assign_roles(told)
    assert found["role"].to_list() == [W, N, B, N]
    assert found["role_source"].to_list() == ["inferred", "inferred", "logged", "logged"]


def test_drops_that_are_told_get_their_chain() -> None:
    sets = log((100, 8), (75, 8), (50, 8)).with_columns(role=pl.Series(["working", "drop", "drop"]))
    assert assign_roles(sets)["chain"].to_list() == [1, 1, 1]


def test_a_chain_that_is_told_gives_the_roles() -> None:
    sets = log((60, 10), (100, 8), (90, 8), (80, 8)).with_columns(
        chain=pl.Series([None, 1, 1, 1], dtype=pl.Int32)
    )
    found = assign_roles(sets)
    assert found["role"].to_list() == [W, N, D, D]
    assert found["chain"].to_list() == [None, 1, 1, 1]


def test_unmarked_sets_are_no_warm_ups_where_warm_ups_are_marked() -> None:
    sets = log((30, 15), (60, 5), (100, 5)).with_columns(role=pl.Series(["warm_up", None, None]))
    assert assign_roles(sets)["role"].to_list() == [W, N, N]


def test_left_and_right_are_judged_apart() -> None:
    both = log((10, 15), (10, 15), (20, 10), (18, 9), (14, 10), (13, 9)).with_columns(
        side=pl.Series(["left", "right"] * 3)
    )
    found = assign_roles(both)
    assert found["role"].to_list() == [W, W, N, N, D, D]
    assert found["chain"].to_list() == [None, None, 1, 1, 1, 1]


def test_sets_without_load_or_reps_are_working_sets() -> None:
    held = log((0, 1), (0, 1)).with_columns(load_kg=pl.lit(None, pl.Float64), reps=pl.lit(None, pl.Int32))
    assert assign_roles(held)["role"].to_list() == [N, N]


def test_an_empty_table_stays_empty() -> None:
    assert assign_roles(schema.SETS.empty()).height == 0
