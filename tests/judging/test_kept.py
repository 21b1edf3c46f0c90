"""What an earlier run found is used again where nothing it rests on has changed, and only there."""

import shutil
from contextlib import nullcontext
from datetime import date, timedelta
from functools import partial

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics import versions
from analytics.intake import read_folder
from analytics.judging import Asked, folder, judged, kept, part
from analytics.judging.crew import Crew, _Here
from analytics.pieces import Pieces
from analytics.week import analyse

AS_OF = date(2026, 11, 22)


@pytest.fixture
def roster(demo_folder, tmp_path):
    place = tmp_path / "roster"
    shutil.copytree(demo_folder, place)
    return place


@pytest.fixture
def studied(monkeypatch):
    """The athletes that were judged anew, in calls of this process, two athletes to a part."""
    asked = []

    def study(intake, as_of, real=part.study):
        asked.extend(sorted(athlete.id for athlete in intake.roster.athletes))
        return real(intake, as_of)

    def crew(alone, workers, scheduler, scratch):
        make = partial(part.judge_to_files, scratch=scratch)
        return nullcontext(Crew(executor=_Here(), make=make, width=1))

    monkeypatch.setattr(part, "study", study)
    monkeypatch.setattr(folder, "crew", crew)
    monkeypatch.setattr(folder, "FEWEST_ATHLETES", 2)
    return asked


def run(place, tmp_path, as_of=AS_OF, today=AS_OF):
    ask = Asked(
        folder=place,
        as_of=as_of,
        today=today,
        scratch=tmp_path / "out",
        kept=tmp_path / "out" / ".judged",
    )
    with judged(ask, lambda athletes, done: None) as found:
        tables = {
            name: pl.concat(table.frames()) if isinstance(table, Pieces) else table
            for name, table in found.tables.items()
        }
    return tables, found.failures


def afresh(place, as_of=AS_OF):
    return analyse(read_folder(place, as_of), as_of)


def same(found, expected):
    assert set(found) == set(expected)
    for name, table in expected.items():
        assert_frame_equal(found[name], table, check_exact=True)


def ids(place):
    return sorted(path.name for path in (place / "exports").iterdir())


def test_nothing_changed_nothing_is_judged(roster, tmp_path, studied):
    first, failures = run(roster, tmp_path)
    assert studied == ids(roster)
    studied.clear()
    second, again = run(roster, tmp_path)
    assert studied == []
    same(second, first)
    assert [str(one) for one in again] == [str(one) for one in failures]


def test_logs_of_long_ago_are_judged_once(roster, tmp_path, studied):
    long_after = AS_OF + timedelta(days=200)
    first, _ = run(roster, tmp_path, as_of=None, today=long_after)
    same(first, afresh(roster))
    studied.clear()
    again, _ = run(roster, tmp_path, as_of=None, today=long_after)
    assert studied == []
    same(again, first)


@pytest.mark.parametrize("which", [0, 1, 3])
def test_only_the_athlete_whose_log_changed_is_judged(roster, tmp_path, studied, which):
    run(roster, tmp_path)
    studied.clear()
    athlete = ids(roster)[which]
    log = roster / "exports" / athlete / "more.csv"
    log.write_text(
        "Date,Exercise,Weight (kg),Reps\n2026-11-20,Bench press,61,5\n2026-11-21,Bench press,x,5\n"
    )
    (roster / "exports" / athlete / "broken.csv").write_text("nothing to see")
    found, failures = run(roster, tmp_path)
    assert studied == [athlete]
    same(found, afresh(roster))
    assert "broken.csv" in "".join(str(failure) for failure in failures)
    studied.clear()
    log.unlink()
    (roster / "exports" / athlete / "broken.csv").unlink()
    found, failures = run(roster, tmp_path)
    assert studied == [athlete]
    assert "broken.csv" not in "".join(str(failure) for failure in failures)
    same(found, afresh(roster))


def test_what_all_share_makes_all_judged_anew(roster, tmp_path, studied, monkeypatch):
    run(roster, tmp_path)

    def everyone_again(place, **more):
        studied.clear()
        found, _ = run(place, tmp_path, **more)
        assert studied == ids(place)
        return found

    with (roster / "calendar.csv").open("a") as calendar:
        calendar.write(f"{ids(roster)[0]},2026-11-16,2026-11-22,deload,\n")
    same(everyone_again(roster), afresh(roster))
    (roster / "exercises.toml").write_text(
        '[leg_press_b]\nlike = "leg_press"\nnames = ["Sled by the door"]\n'
    )
    same(everyone_again(roster), afresh(roster))
    (roster / "roster.toml").write_text(
        (roster / "roster.toml").read_text() + "\n[review]\nfalse_share = 0.1\n"
    )
    same(everyone_again(roster), afresh(roster))
    before = AS_OF - timedelta(days=7)
    same(everyone_again(roster, as_of=before), afresh(roster, before))
    monkeypatch.setattr(kept, "code_hash", lambda: "another program")
    everyone_again(roster, as_of=before)


def test_an_athlete_who_left_is_forgotten(roster, tmp_path, studied):
    run(roster, tmp_path)
    gone = ids(roster)[0]
    text = (roster / "roster.toml").read_text()
    blocks = text.split("[[athlete]]")
    (roster / "roster.toml").write_text("[[athlete]]".join(b for b in blocks if f'id = "{gone}"' not in b))
    shutil.rmtree(roster / "exports" / gone)
    (roster / "checkins" / f"{gone}.csv").unlink(missing_ok=True)
    found, _ = run(roster, tmp_path)
    assert gone not in found["sets"]["athlete"]
    for file in (tmp_path / "out" / ".judged").rglob("now.names.parquet"):
        assert gone not in pl.read_parquet(file)["athlete"]


@pytest.mark.parametrize(
    "name, text", [("now.lifts.parquet", b"PAR1"), ("facts.json", b"{}"), ("facts.json", b"[1")]
)
def test_damaged_findings_are_judged_anew(roster, tmp_path, studied, name, text):
    first, _ = run(roster, tmp_path)
    for file in (tmp_path / "out" / ".judged").rglob(name):
        file.write_bytes(text)
    studied.clear()
    again, _ = run(roster, tmp_path)
    assert studied == ids(roster)
    same(again, first)


def test_findings_that_cannot_be_kept_cost_nothing_else(roster, tmp_path, studied):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / ".judged").write_text("a file stands in the way")
    found, _ = run(roster, tmp_path)
    same(found, afresh(roster))


def test_what_could_not_be_judged_is_tried_again(roster, tmp_path, studied, monkeypatch):
    bad, works = ids(roster)[1], part.study

    def fails(intake, as_of):
        if bad in intake.sets["athlete"]:
            raise MemoryError
        return works(intake, as_of)

    monkeypatch.setattr(part, "study", fails)
    _, failures = run(roster, tmp_path)
    assert failures
    monkeypatch.setattr(part, "study", works)
    studied.clear()
    found, failures = run(roster, tmp_path)
    assert bad in studied
    assert not failures
    same(found, afresh(roster))


def test_the_program_is_part_of_what_findings_rest_on():
    assert len(versions.code_hash()) == 64
    assert {"polars", "numpy", "scipy"} <= set(versions.versions())


def test_a_log_that_changes_while_it_is_judged_is_judged_again(roster, tmp_path, studied, monkeypatch):
    athlete, works = ids(roster)[0], part.study
    log = roster / "exports" / athlete / "more.csv"

    def changing(intake, as_of):
        found = works(intake, as_of)
        log.write_text("Date,Exercise,Weight (kg),Reps\n2026-11-20,Bench press,61,5\n")
        return found

    log.write_text("Date,Exercise,Weight (kg),Reps\n2026-11-20,Bench press,60,5\n")
    monkeypatch.setattr(part, "study", changing)
    run(roster, tmp_path)
    monkeypatch.setattr(part, "study", works)
    studied.clear()
    found, _ = run(roster, tmp_path)
    assert studied == [athlete]
    same(found, afresh(roster))
