"""Whatever bytes stand in an export: no exception, an account that adds up, and the other files go on."""

import json
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analytics.intake import read_folder
from analytics.schema import LEDGER, SET_ASIDE, SETS, breaches

AS_OF = date(2026, 11, 22)
COUNTED = ("rows_used", "rows_set_aside", "rows_duplicate", "rows_not_a_set")
GOOD = b"Date,Exercise,Weight (kg),Reps\n2026-03-02,Deadlift,100,5\n"

CELLS = st.sampled_from(
    [
        *(
            "",
            " ",
            "-",
            "8",
            "80",
            "82,5",
            "82.5",
            "1,020",
            "1.020",
            "-5",
            "1e308",
            "NaN",
            "inf",
            "0",
            "1001",
            "5.5",
        ),
        *(
            "80 kg",
            "120lb",
            "BW",
            "BW+10",
            "BW-200",
            "2x22.5",
            "3x8@80kg",
            "60x12, 65x10",
            "80x8 > 60x8",
            "10/8",
        ),
        *(
            "15,13,12",
            "60/65/70",
            "100x5 @8",
            "2026-03-02",
            "02/03/2026",
            "13/03/2026",
            "03/13/2026",
            "31/02/2026",
        ),
        *(
            "2062-01-01",
            "0001-01-01",
            "46083",
            "2 March 2026",
            "Deadlift",
            "Pull-up",
            "Bench press (warm-up)",
            "A1. Row",
        ),
        *(
            "W",
            "F",
            "D",
            "left",
            "R",
            "yes",
            "Total",
            "# note",
            '"',
            '"a""b"',
            '"a\nb"',
            "=1+1",
            "@x",
            "tern",
            "gull",
        ),
        *(
            "Date",
            "Exercise",
            "Reps",
            "kg",
            "lb",
            "\x00",
            "\ufeff",
            "é",
            "٨",
            "💪",
            "x" * 300,
            "99999999999999999999",
        ),
    ]
)
HEADERS = st.lists(
    st.sampled_from(
        [
            *(
                "Date",
                "Datum",
                "Exercise",
                "Ejercicio",
                "Set",
                "Sets",
                "Weight (kg)",
                "Load",
                "Peso (lb)",
                "Unit",
                "Reps",
            ),
            *(
                "RIR",
                "RPE",
                "Type",
                "Side",
                "Rest (min)",
                "Duration",
                "Superset",
                "Notes",
                "Workout",
                "Work",
                "Athlete",
            ),
            *("Set 1 kg", "Set 1 reps", "W2", "R2", "Added weight", "Failure", "Time", "", "Something else"),
        ]
    ),
    min_size=1,
    max_size=9,
)


def folder(path: Path, files: dict[str, bytes], **defaults: object) -> Path:
    lines = ['[roster]\ntitle = "Harbour group"', "[defaults]"]
    lines += [f"{key} = {json.dumps(value)}" for key, value in defaults.items()]
    lines += ['[[athlete]]\nid = "tern"\nname = "Tern"\n[[athlete]]\nid = "gull"\nname = "Gull"']
    (path / "roster.toml").write_text("\n".join(lines), encoding="utf-8")
    for name, raw in files.items():
        target = path / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(raw)
    return path


def check(intake, files):
    exports = [name for name in files if name.startswith("exports/")]
    assert intake.ledger["source_file"].to_list() == sorted(exports)
    for entry in intake.ledger.to_dicts():
        assert entry["rows_read"] == sum(entry[key] for key in COUNTED), entry
        assert min(entry[key] for key in COUNTED) >= 0, entry
        assert (entry["outcome"] == "refused") == (entry["source_file"] in {f.path for f in intake.failures})
    assert intake.ledger["sets"].sum() == intake.sets.height
    for frame, table in ((intake.sets, SETS), (intake.set_aside, SET_ASIDE), (intake.ledger, LEDGER)):
        assert breaches(frame, table).height == 0, breaches(frame, table)
        assert frame.equals(frame.sort(table.key, nulls_last=True, maintain_order=True))
    key = intake.sets.select("athlete", "date", "position", "set_number")
    assert key.n_unique() == key.height
    used = intake.sets.group_by("source_file").agg(rows=__import__("polars").col("source_row").n_unique())
    for name, rows in used.iter_rows():
        assert intake.ledger.filter(source_file=name)["rows_used"].item() == rows


def tables(max_rows=12):
    rows = st.lists(st.lists(CELLS, min_size=0, max_size=10), max_size=max_rows)
    return st.tuples(
        HEADERS, rows, st.sampled_from(",;\t|"), st.sampled_from(["\n", "\r\n", "\r"]), st.booleans()
    )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.binary(max_size=400))
def test_any_bytes(raw, tmp_path_factory):
    files = {"exports/tern/a.csv": raw, "exports/gull/b.csv": GOOD}
    intake = read_folder(folder(tmp_path_factory.mktemp("any"), files), AS_OF)
    check(intake, files)
    assert intake.sets.filter(athlete="gull").height == 1


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(table=tables(), encoding=st.sampled_from(["utf-8", "utf-16", "cp1252"]), defaults=st.booleans())
def test_any_table(table, encoding, defaults, tmp_path_factory):
    header, rows, delimiter, end, quoted = table
    lines = [header, *rows]
    text = end.join(
        delimiter.join(f'"{cell}"' if quoted and '"' not in cell else cell for cell in row) for row in lines
    )
    given_defaults = {"unit": "kg", "date_order": "dmy", "bodyweight_kg": 80.0} if defaults else {}
    files = {"exports/tern/a.csv": text.encode(encoding, errors="replace"), "exports/gull/b.csv": GOOD}
    intake = read_folder(folder(tmp_path_factory.mktemp("any"), files, **given_defaults), AS_OF)
    check(intake, files)
    assert intake.sets.filter(athlete="gull").height == 1


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.binary(max_size=200), rows=st.lists(st.lists(CELLS, max_size=5), max_size=8))
def test_any_checkins_calendar_and_decisions(raw, rows, tmp_path_factory):
    text = "\n".join(["date,bodyweight (kg),waist,upper arm left (cm)", *(",".join(row) for row in rows)])
    files = {
        "exports/gull/b.csv": GOOD,
        "checkins/tern.csv": raw,
        "checkins/gull.csv": text.encode(errors="replace"),
        "calendar.csv": raw,
        "decisions.csv": b"date,athlete,subject,what\n" + raw,
    }
    intake = read_folder(folder(tmp_path_factory.mktemp("any"), files), AS_OF)
    assert intake.sets.height == 1
    assert set(intake.checkins["unit"]) <= {"kg", "cm", "rpe", "min"}
    for entry in intake.ledger.to_dicts():
        assert entry["rows_read"] == sum(entry[key] for key in COUNTED), entry


@pytest.mark.parametrize(
    "raw",
    [
        b"x" * 10_000_000,
        b"," * 2_000_000,
        b"Date,Exercise,Weight (kg),Reps\n" + b"," * 5000 + b"\n2026-03-02,Deadlift,100,5\n",
        b'Date,Exercise,Weight (kg),Reps\n2026-03-02,Deadlift,100,5,"' + b"y" * 3_000_000,
        b'"' * 100_001,
        b"Date;Exercise;Weight (kg);Reps\n" + b'2026-03-02;"Deadlift;100;5\n' * 300,
        b"\xff\xfe" + b"\x00\xd8" * 500,
        b"\n" * 100_000,
        b'Date,Exercise,Work\n2026-03-02,Deadlift,"' + b"60x5, " * 5000 + b'60x5"\n',
        b"Date,Exercise,Weight (kg),Reps\n2026-03-02," + b"A" * 100_000 + b",100,5\n",
        b"Date,Exercise,Weight (kg),Reps\n"
        + b"9" * 5000
        + b",Deadlift,"
        + b"9" * 5000
        + b","
        + b"9" * 5000
        + b"\n",
        b"Date,Exercise,Weight (kg),Reps\n2026-03-02,Deadlift," + b"1," * 30 + b",5\n",
        b"Date,Exercise,Weight (kg),Reps\nTotal,,60/65/70,8\n",
    ],
    ids=range(13),
)
def test_hostile_files(raw, tmp_path):
    files = {"exports/tern/a.csv": raw, "exports/gull/b.csv": GOOD}
    intake = read_folder(folder(tmp_path, files), AS_OF)
    check(intake, files)
    assert intake.sets.filter(athlete="gull").height == 1
    assert all(len(str(failure)) < 400 for failure in intake.failures)
