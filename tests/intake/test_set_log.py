"""The set table part by part, as it is written: the same sets, texts as strings, whole athletes in a part."""

from datetime import date
from pathlib import Path

import pandas as pd
import polars as pl
import pyarrow.parquet as pq
import pytest
from polars.testing import assert_frame_equal

from analytics.intake import open_folder, read_folder
from analytics.intake.table import setlog
from analytics.pieces import write_parts
from analytics.runs import read
from analytics.schema import SETS

DEMO = Path(__file__).parents[2] / "data_demo"
AS_OF = date(2026, 11, 22)
PEOPLE = "".join(f'[[athlete]]\nid = "{one}"\nname = "{one.upper()}"\n' for one in "ab")
ROSTER = f'[roster]\ntitle = "Two"\n[defaults]\nunit = "kg"\n{PEOPLE}'


@pytest.fixture(scope="module")
def usual():
    return read_folder(DEMO, AS_OF).sets


def texts(part):
    return part.with_columns(
        pl.col(name).cast(pl.String) for name, kind in SETS.empty().schema.items() if kind == pl.String
    )


@pytest.mark.parametrize("rows", [1, 500, 200_000])
def test_the_parts_are_the_table(usual, rows, monkeypatch):
    monkeypatch.setattr(setlog, "PART_ROWS", rows)
    _, log = open_folder(DEMO, AS_OF)
    parts = list(log.parts())
    assert len(parts) == {1: usual["athlete"].n_unique(), 200_000: 1}.get(rows, len(parts)) > 0
    assert_frame_equal(pl.concat(map(texts, parts)), usual, check_exact=True)
    people = [set(part["athlete"].cast(pl.String)) for part in parts]
    assert sum(map(len, people)) == len(set.union(*people))


def test_athletes_that_take_turns_in_one_file(tmp_path, monkeypatch):
    lines = [f"2026-0{1 + n // 8}-1{n % 8},{'ab'[n % 2]},Squat,{60 + n} kg,5" for n in range(30)]
    (tmp_path / "exports").mkdir()
    (tmp_path / "roster.toml").write_text(ROSTER)
    (tmp_path / "exports" / "both.csv").write_text("Date,Athlete,Exercise,Weight,Reps\n" + "\n".join(lines))
    monkeypatch.setattr(setlog, "PART_ROWS", 1)
    _, log = open_folder(tmp_path, AS_OF)
    parts = list(log.parts())
    assert [part["athlete"].unique().to_list() for part in parts] == [["a"], ["b"]]
    assert_frame_equal(pl.concat(map(texts, parts)), read_folder(tmp_path, AS_OF).sets, check_exact=True)


def test_the_file_holds_texts_whoever_reads_it(usual, tmp_path, monkeypatch):
    monkeypatch.setattr(setlog, "PART_ROWS", 500)
    read(DEMO, tmp_path / "out", AS_OF)
    path = tmp_path / "out" / "sets.parquet"
    assert_frame_equal(pl.read_parquet(path), usual, check_exact=True)
    file = pq.ParquetFile(path)
    assert file.num_row_groups > 3
    assert {str(field.type) for field in file.schema_arrow} == {
        "string",
        "date32[day]",
        "int32",
        "double",
        "bool",
    }
    assert {c.name: c.nullable for c in SETS.columns} == {f.name: f.nullable for f in file.schema_arrow}
    own = pl.scan_parquet(path).filter(pl.col("athlete") == usual["athlete"][-1]).collect()
    assert_frame_equal(own, usual.filter(pl.col("athlete") == usual["athlete"][-1]))
    assert pd.read_parquet(path)["exercise"].tolist() == usual["exercise"].to_list()


def test_no_sets_at_all(tmp_path):
    (tmp_path / "roster.toml").write_text(ROSTER)
    (tmp_path / "exports").mkdir()
    read(tmp_path, tmp_path / "out", AS_OF)
    assert_frame_equal(pl.read_parquet(tmp_path / "out" / "sets.parquet"), SETS.empty())
    write_parts([SETS.empty()], SETS, tmp_path / "again.parquet")
    assert pl.read_parquet(tmp_path / "again.parquet").is_empty()
