"""The demo folder: same bytes each time, read back whole, and everything in it that it promises."""

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from analytics.errors import BadCall
from analytics.intake import Intake, read_folder
from analytics.simulate import write_demo
from analytics.simulate.cast import CAST
from analytics.simulate.part import Part, play

AS_OF = date(2026, 11, 25)
KEY = ["athlete", "date", "position", "set_number"]


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("demo")
    write_demo(home / "roster", 14, 26, 1, home / "truth")
    return home


@pytest.fixture(scope="module")
def intake(home: Path) -> Intake:
    return read_folder(home / "roster", AS_OF)


@pytest.fixture(scope="module")
def truth(home: Path) -> pl.DataFrame:
    return pl.read_parquet(home / "truth" / "sets.parquet")


def test_the_same_call_writes_the_same_bytes(home: Path, tmp_path: Path) -> None:
    write_demo(tmp_path, 14, 26, 1, None)
    written = sorted(p.relative_to(tmp_path) for p in tmp_path.rglob("*") if p.is_file())
    assert written == sorted(
        p.relative_to(home / "roster") for p in (home / "roster").rglob("*") if p.is_file()
    )
    for path in written:
        assert (home / "roster" / path).read_bytes() == (tmp_path / path).read_bytes()


def test_the_committed_demo_is_what_the_code_writes(tmp_path: Path) -> None:
    committed = Path(__file__).parents[2] / "data_demo"
    write_demo(tmp_path, 12, 26, 7, None)
    for path in sorted(p for p in tmp_path.rglob("*") if p.is_file()):
        assert path.read_bytes() == (committed / path.relative_to(tmp_path)).read_bytes(), path
    assert sum(p.stat().st_size for p in committed.rglob("*") if p.is_file()) < 3_000_000


def test_the_truth_stays_out_of_the_folder(home: Path) -> None:
    with pytest.raises(BadCall, match="truth"):
        write_demo(home / "again", 2, 26, 1, home / "again" / "truth")
    names = {p.name for p in (home / "roster").rglob("*")}
    assert not any("truth" in name for name in names)


def test_a_folder_that_holds_anything_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "roster.toml").write_text("mine")
    with pytest.raises(BadCall, match="not empty"):
        write_demo(tmp_path, 2, 26, 1, None)
    assert [p.name for p in tmp_path.iterdir()] == ["roster.toml"]


@pytest.mark.parametrize(("athletes", "weeks"), [(0, 26), (3, 7)])
def test_a_demo_that_is_too_small_is_refused(tmp_path: Path, athletes: int, weeks: int) -> None:
    with pytest.raises(BadCall):
        write_demo(tmp_path / "small", athletes, weeks, 1, None)
    assert not (tmp_path / "small").exists()


def test_only_the_rows_broken_on_purpose_are_set_aside(intake: Intake) -> None:
    assert intake.failures == ()
    aside = intake.set_aside.filter(pl.col("source_file").str.starts_with("exports/"))
    reasons = sorted(aside.select("athlete", "kind").iter_rows())
    assert reasons == [
        ("heron", "date"),
        ("heron", "load"),
        ("heron", "reps"),
        ("lapwing", "date"),
        ("lapwing", "exercise"),
        ("lapwing", "load"),
    ]


def test_the_ledger_adds_up_and_the_overlap_counts_once(intake: Intake) -> None:
    ledger = intake.ledger
    parts = pl.sum_horizontal("rows_used", "rows_set_aside", "rows_duplicate", "rows_not_a_set")
    assert ledger.filter(pl.col("rows_read") != parts).is_empty()
    doubled = ledger.filter(pl.col("rows_duplicate") > 0)["athlete"].unique().to_list()
    assert doubled == ["linnet"]


def test_every_set_comes_back(intake: Intake, truth: pl.DataFrame) -> None:
    both = truth.join(intake.sets, on=KEY, how="full", suffix="_read", coalesce=True)
    assert both.filter(pl.col("reps").ne_missing(pl.col("reps_read"))).is_empty()
    assert both.filter(pl.col("exercise").ne_missing(pl.col("exercise_read"))).is_empty()
    assert both.filter(pl.col("side").ne_missing(pl.col("side_read"))).is_empty()
    ratio = pl.col("load_kg_read") / pl.col("load_kg")
    body = pl.col("added_kg").is_not_null()
    wrong = both.filter(~body, (ratio - 1).abs() > 1e-9)
    assert wrong["athlete"].to_list() == ["plover"]  # the ten-fold typo
    assert both.filter("suspect_read")["athlete"].to_list() == ["plover"]
    # bodyweight of the day is known from weekly check-ins only
    assert both.filter(body, (ratio - 1).abs() > 0.06).is_empty()


def test_effort_comes_back_where_it_was_written(intake: Intake, truth: pl.DataFrame) -> None:
    styles = {part.id: part.style.effort for part in CAST}
    both = truth.join(intake.sets, on=KEY, suffix="_read").with_columns(
        effort=pl.col("athlete").replace_strict(styles, default="rir", return_dtype=pl.String)
    )
    written = both.filter(pl.col("effort") == "rir")
    assert written.filter(pl.col("rir").ne_missing(pl.col("rir_read"))).is_empty()
    # perceived exertion below 7 is a range, not a number (Zourdos et al. 2016)
    perceived = both.filter(pl.col("effort") == "rpe", pl.col("rir") <= 3)
    assert perceived.height > 1000
    assert perceived.filter(pl.col("rir").ne_missing(pl.col("rir_read"))).is_empty()


def test_roles_that_were_written_come_back(intake: Intake, truth: pl.DataFrame) -> None:
    told = [
        part.id for part in CAST if part.style.layout in ("rows", "blocks") and part.style.roles == "words"
    ]
    both = truth.filter(pl.col("athlete").is_in(told)).join(intake.sets, on=KEY, suffix="_read")
    assert both.height > 10_000
    assert both.filter(pl.col("role") != pl.col("role_read")).is_empty()
    assert both["role_source_read"].unique().to_list() == ["logged"]


def test_side_tables_come_back(intake: Intake) -> None:
    assert {"deload", "layoff", "travel"} == set(intake.calendar["kind"])
    assert {"heron", "wren", "kestrel", "plover", "curlew", "merlin"} == set(intake.decisions["athlete"])
    cast = [part.id for part in CAST]
    assert set(cast) <= set(intake.checkins["athlete"])
    assert {"bodyweight", "waist", "upper_arm", "thigh", "calf"} <= set(intake.checkins["measure"])
    assert "quarry_row" in set(intake.sets.filter(pl.col("athlete") == "osprey")["exercise"])
    assert intake.unknown_exercises.is_empty()


@pytest.mark.parametrize("part", CAST, ids=[part.id for part in CAST])
def test_each_of_the_cast_shows_what_it_is_for(part: Part) -> None:
    for seed in (1, 2, 3):
        assert part.fits(play(part, 26, seed * 100_000))
