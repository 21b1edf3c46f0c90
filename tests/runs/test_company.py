"""One athlete's log must not change another's answers, nor reach another's page."""

from datetime import date, timedelta

import polars as pl
import pytest

from analytics.cli import main

ROSTER = """
[defaults]
unit = "kg"
date_order = "ymd"
[[athlete]]
id = "ann"
name = "Ann Aster"
[[athlete]]
id = "bob"
name = "Bob Birch"
"""
HEADER = "Date,Session,Exercise,Weight (kg),Reps\n"


def log(first, days, *, session="", exercise="Back squat", load=100):
    start = date.fromisoformat(first)
    return HEADER + "".join(
        f"{start + timedelta(days=3 * day)} {hour}:00,{session},{exercise},{load + day / 2},{reps}\n"
        for day in range(days)
        for hour in (7, 12)
        for reps in (8, 7, 6)
    )


def answers(folder, ann):
    (folder / "exports" / "ann").mkdir(parents=True)
    (folder / "exports" / "bob").mkdir()
    (folder / "roster.toml").write_text(ROSTER)
    (folder / "exports" / "ann" / "log.csv").write_text(ann)
    bob = (
        log("2026-08-03", 25) + log("2026-08-03", 25, exercise="My own strange lift", load=40)[len(HEADER) :]
    )
    (folder / "exports" / "bob" / "log.csv").write_text(bob)
    assert main(["states", str(folder), "--as-of", "2026-10-18", "--out", str(folder / "out")]) == 0
    return folder / "out"


def of_bob(out):
    tables = {}
    for path in sorted(out.iterdir()):
        frame = pl.read_parquet(path) if path.suffix == ".parquet" else pl.read_csv(path, infer_schema=False)
        if "athlete" in frame.columns:
            own = frame.filter(pl.col("athlete") == "bob")
            tables[path.name] = own.drop("rank", "expected_false_share", strict=False)
    return tables


@pytest.mark.parametrize(
    "ann",
    [
        log("2026-06-01", 40),
        log("2026-08-03", 25, load=200),
        log("2026-08-03", 25, session="morning"),
        log("2026-09-14", 8, exercise="MY OWN STRANGE LIFT!"),
        HEADER,
    ],
    ids=["began earlier", "is stronger", "names sessions", "spells it otherwise", "sent nothing"],
)
def test_nothing_of_anns_log_moves_an_answer_of_bobs(ann, tmp_path, capsys):
    plain = of_bob(answers(tmp_path / "one", log("2026-08-03", 25)))
    other = of_bob(answers(tmp_path / "two", ann))
    assert plain.keys() == other.keys()
    for name, table in plain.items():
        assert table.equals(other[name]), name
