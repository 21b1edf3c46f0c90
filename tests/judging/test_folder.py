"""A folder judged in parts says what it says judged at once; one bad part costs no other."""

import os
import shutil
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from datetime import date, timedelta

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics.errors import BadCall
from analytics.intake import one_batch, part_of, read_batch, read_folder
from analytics.judging import Asked, folder, judged, part
from analytics.judging.crew import Crew, _Here
from analytics.pieces import Pieces
from analytics.week import LARGE, analyse

AS_OF = date(2026, 11, 22)


def tables_of(found):
    return {
        name: pl.concat(table.frames()) if isinstance(table, Pieces) else table
        for name, table in found.tables.items()
    }


def ask(place, tmp_path, **more):
    return Asked(**{"folder": place, "as_of": AS_OF, "today": AS_OF, "scratch": tmp_path / "scratch"} | more)


def quiet(athletes, done):
    """Nobody watches."""


@pytest.fixture
def two_parts(monkeypatch):
    monkeypatch.setattr(folder, "FEWEST_ATHLETES", 2)


def test_parts_in_processes_say_what_one_part_says(demo_folder, demo_tables, tmp_path, two_parts):
    told = []
    with judged(ask(demo_folder, tmp_path), lambda *counts: told.append(counts)) as found:
        assert {name for name, table in found.tables.items() if isinstance(table, Pieces)} == set(LARGE)
        assert all(len(found.tables[name].files) == 2 for name in LARGE)
        tables = tables_of(found)
    assert told == [(4, 2), (4, 4)]
    assert set(tables) == set(demo_tables)
    for name, table in demo_tables.items():
        assert_frame_equal(tables[name], table, check_exact=True)
    assert not (tmp_path / "scratch").exists()


@pytest.mark.parametrize("fewest", [40, 2])
def test_one_athlete_who_cannot_be_judged_costs_no_other(
    demo_folder, demo_tables, tmp_path, monkeypatch, fewest
):
    bad = sorted(demo_tables["athlete"]["athlete"])[1]

    def study(intake, as_of, real=part.study):
        if bad in intake.sets["athlete"]:
            raise ZeroDivisionError("no such number")
        return real(intake, as_of)

    monkeypatch.setattr(part, "study", study)
    monkeypatch.setattr(folder, "FEWEST_ATHLETES", fewest)
    in_this_process(monkeypatch)
    with judged(ask(demo_folder, tmp_path), quiet) as found:
        tables = tables_of(found)
    other = pl.col("athlete") != bad
    for name in ("sets", "lifts", "lift_history", "muscles", "quality"):
        assert_frame_equal(tables[name].filter(other), demo_tables[name].filter(other), check_exact=True)
    assert bad not in tables["sets"]["athlete"]
    assert {failure.path.split("/")[1].split(".")[0] for failure in found.failures} == {bad}
    assert "could not be judged (ZeroDivisionError: no such number)" in str(found.failures[0])
    listed = tables["attention"].filter(pl.col("athlete") == bad, "listed")
    assert "unreadable_file" in listed["kind"].to_list()


def in_this_process(monkeypatch, submit=None):
    """The crew of a large roster, without its processes."""

    @contextmanager
    def crew(alone, workers, scheduler, scratch):
        executor = _Here()
        if submit is not None:
            executor.submit = submit
        yield Crew(executor=executor, make=lambda one: part.judge_to_files(one, scratch), width=workers or 2)

    monkeypatch.setattr(folder, "crew", crew)


def test_a_process_that_dies_costs_time_only(demo_folder, demo_tables, tmp_path, monkeypatch, two_parts):
    deaths = []

    def submit(make, one):
        future = _Here().submit(make, one)
        if len(deaths) < 2:
            deaths.append(one)
            future = type(future)()
            future.set_exception(BrokenProcessPool("gone"))
        return future

    in_this_process(monkeypatch, submit)
    with judged(ask(demo_folder, tmp_path), quiet) as found:
        assert_frame_equal(tables_of(found)["sets"], demo_tables["sets"], check_exact=True)
    assert len(deaths) == 2


def test_processes_that_always_die_end_the_run(demo_folder, tmp_path, monkeypatch, two_parts):
    def submit(make, one):
        future = type(_Here().submit(int))()
        future.set_exception(BrokenProcessPool("gone"))
        return future

    in_this_process(monkeypatch, submit)
    with (
        pytest.raises(BadCall, match="free some memory"),
        judged(ask(demo_folder, tmp_path), quiet),
    ):
        pass
    assert not (tmp_path / "scratch").exists()


def test_the_default_day_ends_the_last_complete_week_with_sets(demo_folder, tmp_path):
    for today in (AS_OF, AS_OF + timedelta(days=3), AS_OF + timedelta(days=40)):
        with judged(ask(demo_folder, tmp_path, as_of=None, today=today), quiet) as found:
            assert found.as_of == AS_OF
    before = AS_OF - timedelta(days=1)
    with judged(ask(demo_folder, tmp_path, as_of=None, today=before), quiet) as found:
        assert found.as_of == AS_OF - timedelta(days=7)


def test_nothing_to_judge_is_said_and_nothing_written(demo_folder, tmp_path):
    shutil.copytree(demo_folder, tmp_path / "empty", ignore=shutil.ignore_patterns("*.csv"))
    for name in os.listdir(tmp_path / "empty" / "exports"):
        shutil.rmtree(tmp_path / "empty" / "exports" / name)
    with (
        pytest.raises(BadCall, match="holds no set of a week that is complete"),
        judged(ask(tmp_path / "empty", tmp_path, as_of=None), quiet),
    ):
        pass
    assert not (tmp_path / "scratch").exists()


@pytest.fixture
def shared(tmp_path):
    """Three athletes whose sets stand in one file, and a stranger's."""
    place = tmp_path / "shared"
    (place / "exports").mkdir(parents=True)
    (place / "roster.toml").write_text(
        '[defaults]\nunit = "kg"\n' + "".join(f'[[athlete]]\nid = "{a}"\nname = "{a}"\n' for a in "abc")
    )
    rows = [f"2026-11-{day:02d},{a},Bench press,{60 + day},8" for day in (2, 9, 16) for a in "abcd"]
    log = "\n".join(["Date,Athlete,Exercise,Weight (kg),Reps", *rows, "2026-11-16,a,Bench press,heavy,8"])
    (place / "exports" / "all.csv").write_text(log + "\n")
    return place


def test_each_part_reads_its_share_of_a_file_of_many_athletes(shared):
    batch, whole = one_batch(shared), read_folder(shared, AS_OF)
    parts = [read_batch(part_of(batch, [one]), AS_OF) for one in "abc"]
    for name in ("sets", "set_aside", "ledger"):
        together = pl.concat(getattr(one, name) for one in parts)
        assert_frame_equal(together, getattr(whole, name), check_row_order=False)


def test_a_file_of_many_athletes_is_judged_in_parts(shared, tmp_path, monkeypatch):
    expected = analyse(read_folder(shared, AS_OF), AS_OF)
    monkeypatch.setattr(folder, "FEWEST_ATHLETES", 1)
    in_this_process(monkeypatch)
    reads = []
    monkeypatch.setattr(part, "read_batch", lambda *asked: reads.append(1) or read_batch(*asked))
    with judged(ask(shared, tmp_path), quiet) as found:
        tables = tables_of(found)
    assert len(reads) == 1
    assert set(tables) == set(expected)
    for name, table in expected.items():
        assert_frame_equal(tables[name], table, check_exact=True)


def test_the_athlete_of_a_shared_file_who_cannot_be_judged_costs_no_other(shared, tmp_path, monkeypatch):
    def study(intake, as_of, real=part.study):
        if "b" in intake.sets["athlete"]:
            raise ZeroDivisionError("no such number")
        return real(intake, as_of)

    monkeypatch.setattr(part, "study", study)
    with judged(ask(shared, tmp_path), quiet) as found:
        assert found.tables["lifts"]["athlete"].to_list() == ["a", "c"]
        listed = found.tables["attention"].filter(pl.col("athlete") == "b", "listed")
    assert "unreadable_file" in listed["kind"].to_list()
    assert "could not be judged" in str(found.failures[0])
