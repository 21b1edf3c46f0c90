import json
import shutil
from datetime import date

import polars as pl
import pytest

from analytics.cli import main
from analytics.errors import BadCall
from analytics.runs import week_end
from analytics.schema import SETS, TABLES

ANSWERS = (
    "sets.parquet",
    "sessions.parquet",
    "lifts.csv",
    "lift_history.parquet",
    "muscles.csv",
    "attention.csv",
)


@pytest.fixture
def roster(demo_folder, tmp_path):
    folder = tmp_path / "roster"
    shutil.copytree(demo_folder, folder)
    return folder


def test_read_writes_the_loaders_tables_and_a_line_per_file(roster, tmp_path, capsys):
    assert main(["read", str(roster), "--out", str(tmp_path / "out")]) == 0
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "ledger.csv",
        "set_aside.csv",
        "sets.parquet",
    ]
    files = [path for place in ("exports", "checkins") for path in (roster / place).rglob("*.*")]
    assert len(capsys.readouterr().out.splitlines()) == len(files)
    assert pl.read_parquet(tmp_path / "out" / "sets.parquet").columns == SETS.names
    ledger = pl.read_csv(tmp_path / "out" / "ledger.csv")
    kinds = ["rows_used", "rows_set_aside", "rows_duplicate", "rows_not_a_set"]
    assert ledger["rows_read"].to_list() == ledger.select(pl.sum_horizontal(kinds)).to_series().to_list()


def test_states_writes_every_table_of_the_contract(roster, tmp_path, capsys):
    assert main(["states", str(roster), "--out", str(tmp_path / "out")]) == 0
    written = {path.stem for path in (tmp_path / "out").iterdir()}
    assert {table.name for table in TABLES} <= written
    assert "lifts of 4 athletes" in capsys.readouterr().out


def test_rows_after_the_day_change_no_answer(roster, tmp_path):
    day = "2026-10-18"
    assert main(["states", str(roster), "--as-of", day, "--out", str(tmp_path / "whole")]) == 0
    athlete = next((roster / "exports").iterdir())
    (athlete / "later.csv").write_text("Date,Exercise,Weight (kg),Reps\n2026-11-20,Bench press,500,5\n")
    assert main(["states", str(roster), "--as-of", day, "--out", str(tmp_path / "more")]) == 0
    for name in (
        "sets.parquet",
        "sessions.parquet",
        "lifts.csv",
        "lift_history.parquet",
        "muscles.csv",
        "attention.csv",
    ):
        first, second = ((tmp_path / side / name).read_bytes() for side in ("whole", "more"))
        assert first == second, name


def test_a_broken_file_costs_only_itself(roster, tmp_path, capsys):
    athlete = next((roster / "exports").iterdir())
    (athlete / "holiday.xlsx").write_bytes(b"PK\x03\x04" + bytes(40))
    assert main(["states", str(roster), "--out", str(tmp_path / "out")]) == 1
    out = capsys.readouterr().out
    assert "refused: " in out
    assert "holiday.xlsx" in out
    assert pl.read_csv(tmp_path / "out" / "lifts.csv")["athlete"].n_unique() == 4


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["weekly", "FOLDER", "--week", "2026-47"], "no ISO week"),
        (["weekly", "FOLDER", "--athlete", "nobody"], "Known ones"),
        (["look", "FOLDER", "nobody"], "Known ones"),
        (["states", "FOLDER/nowhere", "--out", "OUT"], "nowhere"),
        (["look", "FOLDER", "ATHLETE", "moon lift"], "Known ones"),
        (["look", "FOLDER", "ATHLETE", "--out", "OUT/a.gif"], ".png, .svg, .html"),
    ],
)
def test_a_wrong_call_says_so_and_writes_nothing(words, said, roster, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    athlete = sorted(path.name for path in (roster / "exports").iterdir())[0]
    places = {"FOLDER": str(roster), "OUT": str(tmp_path / "out"), "ATHLETE": athlete}
    for key, value in places.items():
        words = [word.replace(key, value) for word in words]
    before = sorted(tmp_path.rglob("*"))
    assert main(words) == 2
    assert said in capsys.readouterr().err
    assert sorted(tmp_path.rglob("*")) == before


def test_an_unknown_key_in_the_roster_is_named(roster, capsys):
    file = roster / "roster.toml"
    file.write_text(file.read_text().replace("stage_date", "stagedate").replace("bodyweight_kg", "body_kg"))
    assert main(["states", str(roster), "--out", str(roster / "out")]) == 2
    assert "nearest known one" in capsys.readouterr().err


def test_look_prints_its_numbers_and_draws(roster, tmp_path, capsys):
    tables = tmp_path / "t"
    main(["states", str(roster), "--out", str(tables)])
    lift = pl.read_csv(tables / "lifts.csv").row(0, named=True)
    capsys.readouterr()
    for ending, start in (("png", b"\x89PNG"), ("svg", b"<svg"), ("html", b"<!DOCTYPE html>")):
        picture = tmp_path / f"lift.{ending}"
        assert (
            main(
                [
                    "look",
                    str(roster),
                    lift["athlete"],
                    lift["exercise"].replace("_", " "),
                    "--out",
                    str(picture),
                ]
            )
            == 0
        )
        assert picture.read_bytes().startswith(start)
        assert "% a week" in capsys.readouterr().out.splitlines()[0]
    assert main(["look", str(roster), lift["athlete"]]) == 0
    assert main(["look", str(roster), lift["athlete"], "chest"]) == 0


def test_demo_writes_a_folder_that_reads_and_its_truth_elsewhere(tmp_path, capsys):
    words = [
        "demo",
        str(tmp_path / "d"),
        "--athletes",
        "2",
        "--weeks",
        "8",
        "--seed",
        "3",
        "--truth",
        str(tmp_path / "t"),
    ]
    assert main(words) == 0
    assert (tmp_path / "d" / "roster.toml").exists()
    assert list((tmp_path / "t").iterdir())
    assert main(["states", str(tmp_path / "d"), "--out", str(tmp_path / "s")]) == 0


@pytest.mark.parametrize(
    ("week", "sunday"),
    [
        # ISO 8601: a week belongs to the year of its Thursday.
        ("2004-W53", date(2005, 1, 2)),
        ("2013-W01", date(2013, 1, 6)),
        ("2020-W01", date(2020, 1, 5)),
        ("2009-W53", date(2010, 1, 3)),
        ("2026-W53", date(2027, 1, 3)),
    ],
)
def test_weeks_are_iso_weeks(week, sunday):
    assert week_end(week) == sunday


def test_a_week_that_a_year_does_not_have_is_refused():
    with pytest.raises(BadCall):
        week_end("2025-W53")


@pytest.mark.slow
def test_weekly_twice_gives_equal_bytes(roster, tmp_path, capsys):
    folders = []
    for run in ("one", "two"):
        assert main(["weekly", str(roster), "--out", str(tmp_path / run)]) == 0
        folders.append(tmp_path / run / "2026-W47")
    first, second = ({p.relative_to(f): p.read_bytes() for p in f.rglob("*") if p.is_file()} for f in folders)
    assert first.keys() == second.keys()
    assert {str(name) for name in first if first[name] != second[name]} <= {"run.json"}
    run = json.loads((folders[0] / "run.json").read_text())
    assert run
    pages = [name for name in first if name.suffix == ".html"]
    assert len(pages) == 5
