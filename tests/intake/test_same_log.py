"""The same log, written in another unit, order, copy or layout, gives the same sets."""

from datetime import date, timedelta

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from analytics.schema import KG_PER_LB

LIFTS = ("Deadlift", "Bench press", "Barbell row", "Pull-up")
SETS = st.lists(
    st.tuples(
        st.integers(0, 40),
        st.sampled_from(LIFTS),
        st.integers(4, 400).map(lambda n: n * 1.25),
        st.integers(1, 20),
        st.sampled_from(["", "7", "8", "8.5", "10"]),
    ),
    min_size=1,
    max_size=25,
)
PLACE = ["position", "source_file", "source_row"]
QUICK = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def day(n):
    return date(2026, 3, 2) + timedelta(days=n)


def numbered(log):
    """The log in order of days, each set with its number within exercise and day."""
    seen = {}
    rows = []
    for n, lift, load, reps, rpe in sorted(log, key=lambda row: row[0]):
        seen[n, lift] = seen.get((n, lift), 0) + 1
        rows.append((day(n), lift, seen[n, lift], load, reps, rpe))
    return rows


def as_rows(log, unit="kg"):
    factor = 1 if unit == "kg" else 1 / KG_PER_LB
    lines = [f"Date,Exercise,Set,Weight ({unit}),Reps,RPE"]
    lines += [f"{d},{lift},{n},{load * factor!r},{reps},{rpe}" for d, lift, n, load, reps, rpe in log]
    return "\n".join(lines)


@QUICK
@given(log=SETS)
def test_kilograms_and_pounds(log, read):
    log = numbered(log)
    kg = read({"exports/tern/a.csv": as_rows(log)}, bodyweight_kg=80.0)
    lb = read({"exports/tern/a.csv": as_rows(log, "lb")}, bodyweight_kg=80.0)
    assert kg.sets.height == len(log)
    assert_frame_equal(kg.sets, lb.sets, rel_tol=0, abs_tol=1e-9)


@QUICK
@given(log=SETS, random=st.randoms(use_true_random=False))
def test_row_order_does_not_matter_where_sets_are_numbered(log, random, read):
    log = numbered(log)
    other = list(log)
    random.shuffle(other)
    one = read({"exports/tern/a.csv": as_rows(log)}, bodyweight_kg=80.0).sets
    two = read({"exports/tern/a.csv": as_rows(other)}, bodyweight_kg=80.0).sets
    key = ["date", "exercise", "set_number"]
    # Which exercise came first is told by the order of the rows alone.
    assert_frame_equal(one.drop(PLACE).sort(key), two.drop(PLACE).sort(key))


@QUICK
@given(log=SETS)
def test_a_file_read_twice_counts_once(log, read):
    text = as_rows(numbered(log))
    once = read({"exports/tern/a.csv": text}, bodyweight_kg=80.0)
    twice = read({"exports/tern/a.csv": text, "exports/tern/copy/b.csv": text}, bodyweight_kg=80.0)
    assert_frame_equal(once.sets.drop("source_file"), twice.sets.drop("source_file"))
    assert twice.ledger["rows_duplicate"].sum() == len(log)


@QUICK
@given(log=SETS, cut=st.integers(-1, 41))
def test_rows_after_the_run_change_nothing(log, cut, read):
    log = numbered(log)
    whole = read({"exports/tern/a.csv": as_rows(log)}, as_of=day(cut), bodyweight_kg=80.0)
    short = read(
        {"exports/tern/a.csv": as_rows([row for row in log if row[0] <= day(cut)])},
        as_of=day(cut),
        bodyweight_kg=80.0,
    )
    assert_frame_equal(whole.sets, short.sets)
    assert whole.set_aside["kind"].unique().to_list() in ([], ["later"])
    assert whole.set_aside.height == sum(row[0] > day(cut) for row in log)


@QUICK
@given(log=SETS)
def test_other_layouts(log, read):
    log = [row for row in numbered(log) if row[1] != "Pull-up"]
    groups = {}
    for d, lift, n, load, reps, _ in log:
        groups.setdefault((d, lift), []).append((n, load, reps))
    most = max((len(sets) for sets in groups.values()), default=1)
    short = ["Date,Exercise,Work"]
    wide = ["Date,Exercise," + ",".join(f"Set {i} kg,Set {i} reps" for i in range(1, most + 1))]
    blocks = []
    rows = ["Date,Exercise,Set,Weight (kg),Reps"]
    before = None
    for (d, lift), sets in groups.items():
        short.append(f'{d},{lift},"{"; ".join(f"{load}kg x {reps}" for _, load, reps in sets)}"')
        wide.append(f"{d},{lift}," + ",".join(f"{load},{reps}" for _, load, reps in sets))
        blocks += ([str(d)] if d != before else []) + [lift, "Set,Weight (kg),Reps"]
        blocks += [f"{n},{load},{reps}" for n, load, reps in sets]
        rows += [f"{d},{lift},{n},{load},{reps}" for n, load, reps in sets]
        before = d
    expected = read({"exports/tern/a.csv": "\n".join(rows)}).sets.drop("source_row")
    assert expected.height == len(log)
    for lines in (short, wide, blocks):
        if log:
            assert_frame_equal(
                read({"exports/tern/a.csv": "\n".join(lines)}).sets.drop("source_row"), expected
            )


@pytest.mark.parametrize(
    ("numbers", "expected"),
    [
        ("4 - 1 2 3", "1 2 3 4"),  # a later set before, the earlier ones after another exercise
        ("3 2 1", "1 2 3"),
        ("1 2 - 1 2", "1 2 1 2"),  # taken up again: the numbers begin again and tell no order
        ("1 2 1 2 3", "1 2 1 2 3"),  # work sets numbered anew after the warm-ups
        ("2 3 3 1", "1 2 3 3"),
    ],
)
def test_set_numbers_tell_the_order_unless_they_begin_again(numbers, expected, read):
    lines = ["Date,Exercise,Set No,Weight (kg),Reps,Notes"]
    for place, number in enumerate(numbers.split()):
        lift = "Bench press,1" if number == "-" else f"Deadlift,{number}"
        lines.append(f"2026-03-02,{lift},{100 + place},5,{number}")
    sets = read({"exports/tern/a.csv": "\n".join(lines)}).sets.filter(exercise="deadlift")
    assert sets["note"].to_list() == expected.split()
    assert sets["set_number"].to_list() == list(range(1, sets.height + 1))


FIRST = """Date,Exercise,Set,Weight (kg),Reps
2026-03-02,Deadlift,1,100,5
2026-03-02,Deadlift,2,140,5
2026-03-02,Deadlift,3,140,5
2026-03-02,Barbell row,1,60,10
"""


def test_equal_rows_of_one_file_are_sets(read):
    assert read({"exports/tern/a.csv": FIRST}).sets.filter(load_kg=140).height == 2


def test_a_copy_in_another_unit_and_layout_is_a_duplicate(read):
    copy = "Date;Exercise;Work\n2026-03-02;Deadlift;220.5lb x 5\n2026-03-02;Deadlift;308.6lb x 5, 5\n"
    copy += "2026-03-02;Barbell row;132.3lb x 10\n"
    intake = read({"exports/tern/a.csv": FIRST, "exports/tern/b.csv": copy})
    assert intake.sets.height == 4
    assert intake.ledger["rows_duplicate"].sum() in (3, 4)
    assert intake.set_aside.height == 0


def test_the_copy_of_the_newer_export_wins_and_the_other_row_is_told(read):
    mended = FIRST.replace("2026-03-02,Deadlift,3,140,5", "2026-03-02,Deadlift,3,145,5")
    newer = mended + "2026-04-06,Deadlift,1,150,5\n"
    intake = read({"exports/tern/april.csv": newer, "exports/tern/march.csv": FIRST})
    assert intake.sets.filter(exercise="deadlift")["load_kg"].to_list() == [100, 140, 145, 150]
    (told,) = intake.set_aside.to_dicts()
    assert (told["source_file"], told["source_row"], told["kind"]) == ("exports/tern/march.csv", 4, "set")
    assert told["reason"] == "differs from a better copy of the same workout in another file"
    assert intake.ledger["rows_duplicate"].to_list() == [0, 3]


def test_the_longer_copy_wins(read):
    longer = FIRST + "2026-03-02,Deadlift,4,150,3\n"
    intake = read({"exports/tern/a.csv": longer, "exports/tern/b.csv": FIRST})
    assert intake.sets["source_file"].unique().to_list() == ["exports/tern/a.csv"]
    assert intake.sets.height == 5
    assert intake.ledger["rows_duplicate"].to_list() == [0, 4]


def test_two_different_workouts_of_a_day_both_count(read):
    evening = "Date,Exercise,Set,Weight (kg),Reps\n2026-03-02,Leg curl,1,30,12\n2026-03-02,Deadlift,1,180,2\n"
    intake = read({"exports/tern/a.csv": FIRST, "exports/tern/b.csv": evening})
    assert intake.sets.height == 6
    assert intake.ledger["rows_duplicate"].sum() == 0


def test_the_same_sets_of_another_athlete_are_their_own(read):
    intake = read({"exports/tern/a.csv": FIRST, "exports/gull/a.csv": FIRST})
    assert intake.sets.height == 8


def history(loads, lift="Deadlift"):
    lines = ["Date,Exercise,Weight (kg),Reps"]
    lines += [f"{day(3 * i)},{lift},{load},5" for i, load in enumerate(loads)]
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("loads", "suspect"),
    [
        ([100, 102.5, 105, 1000], [1000]),
        ([100, 102.5, 105, 10.5], [10.5]),
        ([100, 102.5, 105, 231.5], [231.5]),
        ([220, 225, 231, 105], [105]),
        ([100, 102.5, 105, 130], []),
        ([100, 102.5, 105, 60], []),
        ([100, 1000], []),
        ([100, 102.5, 105, 231.5, 107.5, 110], [231.5]),
    ],
)
def test_implausible_loads_are_kept_and_marked(loads, suspect, read):
    sets = read({"exports/tern/a.csv": history(loads)}).sets
    assert sets["load_kg"].to_list() == loads
    assert sets.filter("suspect")["load_kg"].to_list() == suspect


def test_warm_ups_with_the_bar_are_not_suspect(read):
    lines = ["Date,Exercise,Weight (kg),Reps"]
    for i in range(6):
        lines += [f"{day(3 * i)},Deadlift,{load},5" for load in (20, 20, 100, 160, 200, 200)]
    assert not read({"exports/tern/a.csv": "\n".join(lines)}).sets["suspect"].any()


def test_a_ten_fold_typo_between_two_sets_needs_no_history(read):
    lines = [
        "Date,Exercise,Weight (kg),Reps",
        *(f"2026-03-02,Deadlift,{load},5" for load in (80, 800, 80, 8, 80)),
    ]
    assert read({"exports/tern/a.csv": "\n".join(lines)}).sets["suspect"].to_list() == [
        False,
        True,
        False,
        True,
        False,
    ]


def test_later_typos_do_not_reach_back(read):
    early = read({"exports/tern/a.csv": history([100, 102.5, 105, 107.5])}).sets
    late = read({"exports/tern/a.csv": history([100, 102.5, 105, 107.5, 1075, 110])}).sets
    assert_frame_equal(early, late.filter(pl.col("date") <= early["date"].max()))


def test_large_tables_are_read_in_parts_without_a_difference(read, monkeypatch):
    lines = ["Athlete,Date,Exercise,Set,Weight (kg),Reps"]
    for name in ("tern", "gull"):
        for i in range(12):
            for n, (load, reps) in enumerate(((20, 15), (60, 8), (100 + i, 5), (100 + i, 5), (70, 9)), 1):
                lines.append(f"{name},{day(3 * i)},Deadlift,{n},{load},{reps}")
    whole = read({"exports/all.csv": "\n".join(lines)})
    monkeypatch.setattr("analytics.intake.table.inference._BLOCK", 10)
    for name, value in (("LARGE", 100), ("_PORTION", 200), ("_HEAD", 150)):
        monkeypatch.setattr(f"analytics.intake.source.grid.{name}", value)
    monkeypatch.setattr("analytics.intake.threads.MANY_ROWS", 10)
    parts = read({"exports/all.csv": "\n".join(lines)})
    assert_frame_equal(whole.sets, parts.sets)
