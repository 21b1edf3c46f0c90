"""The folder: whose files they are, files that cannot be read, check-ins, calendar and decisions."""

from datetime import date
from pathlib import Path

import pytest

from analytics.errors import BadRoster
from analytics.intake import file_lines, latest_week_end, read_folder

GOOD = "Date,Exercise,Weight (kg),Reps\n2026-03-02,Deadlift,100,5\n"
AS_OF = date(2026, 11, 22)


def test_unusable_folders(tmp_path):
    with pytest.raises(BadRoster, match=r"roster\.toml"):
        read_folder(tmp_path, AS_OF)
    with pytest.raises(BadRoster):
        read_folder(tmp_path / "nowhere", AS_OF)
    (tmp_path / "roster.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadRoster):
        read_folder(tmp_path, AS_OF)


def test_empty_folder_is_an_empty_intake(read):
    intake = read({})
    assert intake.sets.height == intake.ledger.height == intake.checkins.height == 0
    assert latest_week_end(intake.sets, AS_OF) is None


def test_nested_folders_and_other_file_names(read):
    intake = read({"exports/tern/2026/spring/log.TXT": GOOD, "exports/Gull/x": GOOD})
    assert sorted(intake.sets["athlete"]) == ["gull", "tern"]
    assert intake.sets["source_file"].to_list() == ["exports/Gull/x", "exports/tern/2026/spring/log.TXT"]


def test_hidden_and_lock_files_are_no_exports(read):
    intake = read(
        {"exports/tern/.DS_Store": b"\x00\x01", "exports/tern/~$log.csv": b"\x00", "exports/tern/a.csv": GOOD}
    )
    assert intake.ledger.height == 1


def test_folder_of_nobody(read):
    intake = read({"exports/puffin/a.csv": GOOD, "exports/tern/a.csv": GOOD})
    (failure,) = intake.failures
    assert str(failure) == (
        "exports/puffin/a.csv, line 1: nothing says whose log this is. "
        "Put it into exports/<athlete id>/, or add a column with the athlete's id"
    )
    assert intake.sets.height == 1
    assert intake.ledger["rows_not_a_set"].to_list() == [2, 1]


def test_one_file_of_many_athletes(read):
    text = "Client,Date,Exercise,Weight (kg),Reps\nTern,2026-03-02,Deadlift,100,5\n"
    text += "GULL,2026-03-02,Deadlift,90,5\n"
    text += "Puffin,2026-03-02,Deadlift,90,5\n,2026-03-02,Deadlift,90,5\n"
    intake = read({"exports/everyone.csv": text})
    assert intake.sets["athlete"].to_list() == ["gull", "tern"]
    assert intake.set_aside["reason"].to_list() == ["is not an athlete of the roster", "is empty"]
    assert intake.set_aside["athlete"].to_list() == [None, None]


def test_a_row_of_another_athlete_in_ones_folder(read):
    text = "Athlete,Date,Exercise,Weight (kg),Reps\nTern,2026-03-02,Deadlift,100,5\n"
    text += "Gull,2026-03-02,Deadlift,90,5\n"
    intake = read({"exports/tern/a.csv": text})
    assert intake.sets["load_kg"].to_list() == [100]
    assert intake.set_aside["kind"].to_list() == ["athlete"]


@pytest.mark.parametrize(
    ("raw", "found"),
    [
        (b"PK\x03\x04" + b"\x00" * 30, "a spreadsheet or zip file"),
        (b"%PDF-1.7\n%\xe2\xe3", "a PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 30, "an old spreadsheet"),
        (b"\x1f\x8b\x08\x00", "a compressed file"),
        (bytes(range(256)) * 8, "a binary file"),
    ],
)
def test_binary_files_are_refused_with_the_cure(raw, found, read):
    intake = read({"exports/tern/log.csv": raw, "exports/gull/a.csv": GOOD})
    (failure,) = intake.failures
    assert found in str(failure)
    assert "save it as CSV" in str(failure)
    assert intake.sets.height == 1


def test_header_without_rows(read):
    intake = read({"exports/tern/a.csv": "Date,Exercise,Weight (kg),Reps\n"})
    assert not intake.failures
    assert intake.ledger.select("rows_read", "rows_not_a_set").row(0) == (1, 1)


def test_a_file_that_cannot_be_opened(read, monkeypatch):
    real = Path.open

    def refuse(self, mode="r", *more, **named):
        if self.name == "locked.csv" and mode == "rb":
            raise PermissionError(13, "Permission denied")
        return real(self, mode, *more, **named)

    monkeypatch.setattr(Path, "open", refuse)
    intake = read({"exports/tern/locked.csv": GOOD, "exports/gull/a.csv": GOOD})
    assert str(intake.failures[0]) == (
        "exports/tern/locked.csv, line 1: the file cannot be opened (Permission denied). "
        "Check its permissions"
    )
    assert intake.sets.height == 1
    assert intake.ledger["rows_read"].to_list() == [2, 0]


def test_links(tmp_path):
    (tmp_path / "roster.toml").write_text('[roster]\ntitle = "x"\n[[athlete]]\nid = "tern"\nname = "Tern"\n')
    secret = tmp_path.parent / "secret.csv"
    secret.write_text(GOOD)
    folder = tmp_path / "exports" / "tern"
    folder.mkdir(parents=True)
    (folder / "a.csv").write_text(GOOD)
    (folder / "loop").symlink_to(folder, target_is_directory=True)
    (folder / "itself").symlink_to(folder / "itself")
    (folder / "out.csv").symlink_to(secret)
    (folder / "dangling.csv").symlink_to(folder / "nothing.csv")
    intake = read_folder(tmp_path, AS_OF)
    assert [failure.path for failure in intake.failures] == ["exports/tern/out.csv"]
    assert intake.sets["source_file"].to_list() == ["exports/tern/a.csv"]


def test_checkins(read):
    text = """Datum;Gewicht;Taille (cm);Oberarm links;Oberarm rechts;Wade li (mm);Training RPE
02.03.2026;81,5 kg;80,5;38 cm;15 in;385;
16.03.2026;179,5 lb;;;;;
31.02.2026;80 kg;;;;;
13.04.2026;8000 kg;heavy;38;;;
01.12.2026;80 kg;;;;;
"""
    intake = read({"checkins/tern.csv": text})
    values = {
        (r["date"].day, r["measure"], r["side"]): (round(r["value"], 6), r["unit"])
        for r in intake.checkins.to_dicts()
    }
    assert values == {
        (2, "bodyweight", None): (81.5, "kg"),
        (2, "waist", None): (80.5, "cm"),
        (2, "upper_arm", "left"): (38.0, "cm"),
        (2, "upper_arm", "right"): (38.1, "cm"),
        (2, "calf", "left"): (38.5, "cm"),
        (16, "bodyweight", None): (81.41983, "kg"),
    }
    told = [
        (r["source_row"], r["kind"], r["reason"])
        for r in intake.set_aside.sort("source_row", "column").to_dicts()
    ]
    assert told == [
        (4, "date", "is not a day of the calendar"),
        (5, "set", "is 8000 kg, outside 20 to 400"),
        (5, "set", "has no unit: cm, mm or in"),
        (5, "set", "is not a number"),
        (6, "later", "is after the date of this run"),
    ]
    (entry,) = intake.ledger.to_dicts()
    assert (entry["layout"], entry["rows_read"], entry["rows_used"], entry["rows_set_aside"]) == (
        "check-ins",
        6,
        2,
        3,
    )


def test_checkins_of_one_row_a_measure_and_session_ratings(read):
    long = "date,measure,value,unit,side\n2026-03-02,Weight,80,kg,\n"
    long += "2026-03-02,Thigh,23,in,left\n2026-03-02,Knee,40,cm,\n"
    rated = "date,session rpe,session minutes\n2026-03-02,7,75\n2026-03-04,6,1:10:00\n"
    intake = read({"checkins/tern.csv": long, "checkins/gull.csv": rated})
    rows = [
        (r["athlete"], r["measure"], r["side"], round(r["value"], 6), r["unit"])
        for r in intake.checkins.to_dicts()
    ]
    assert rows == [
        ("gull", "session_minutes", None, 75.0, "min"),
        ("gull", "session_rpe", None, 7.0, "rpe"),
        ("gull", "session_minutes", None, 70.0, "min"),
        ("gull", "session_rpe", None, 6.0, "rpe"),
        ("tern", "bodyweight", None, 80.0, "kg"),
        ("tern", "thigh", "left", 58.42, "cm"),
    ]


def test_bodyweight_without_unit_takes_the_roster_default(read):
    text = "date,bodyweight\n2026-03-02,180\n"
    assert read({"checkins/tern.csv": text}, unit="lb").checkins["value"].to_list() == [
        pytest.approx(81.6466266)
    ]
    assert read({"checkins/tern.csv": text}).checkins.height == 0


def test_pull_ups_use_the_last_bodyweight_on_or_before_the_day(read):
    log = "Date,Exercise,Weight (kg),Reps\n" + "".join(
        f"2026-03-{d:02d},Pull-up,BW+10,5\n" for d in (1, 2, 9, 10)
    )
    checkins = "date,bodyweight (kg)\n2026-03-02,80\n2026-03-10,82\n"
    sets = read({"exports/tern/a.csv": log, "checkins/tern.csv": checkins}, bodyweight_kg=70.0).sets
    assert sets["load_kg"].to_list() == [80, 90, 90, 92]
    assert sets["added_kg"].to_list() == [10, 10, 10, 10]


def test_calendar_and_decisions(read):
    calendar = "athlete,from,to,kind,note\ntern,2026-03-02,2026-03-08,deload,\ntern,2026-03-09,,heat,hot\n"
    calendar += (
        "puffin,2026-03-02,2026-03-08,deload,\ngull,2026-03-08,2026-03-02,travel,\ngull,2026-03-02,,party,\n"
    )
    decisions = "date,athlete,lift,what,why\n2026-03-02,tern,deadlift,less,tired\n"
    decisions += "2027-03-02,tern,deadlift,more,\n,tern,x,y,\n"
    intake = read({"calendar.csv": calendar, "decisions.csv": decisions})
    assert intake.calendar.rows() == [
        ("tern", date(2026, 3, 2), date(2026, 3, 8), "deload", None),
        ("tern", date(2026, 3, 9), date(2026, 3, 9), "heat", "hot"),
    ]
    assert intake.decisions.height == 1
    told = intake.set_aside.select("source_file", "source_row", "column", "kind").rows()
    assert told == [
        ("calendar.csv", 4, "athlete", "athlete"),
        ("calendar.csv", 5, "to", "date"),
        ("calendar.csv", 6, "kind", "set"),
        ("decisions.csv", 3, "date", "later"),
        ("decisions.csv", 4, "date", "date"),
    ]


def test_unknown_exercises_are_listed_once(read):
    text = GOOD + "2026-03-02,Harbour crane,40,8\n2026-03-02,Harbour crane,40,8\n"
    assert read({"exports/tern/a.csv": text}).unknown_exercises.rows() == [("tern", "Harbour crane", 2)]


def test_the_coachs_own_exercises(read):
    own = '[harbour_crane]\nname = "Harbour crane"\nfamily = "row"\ndirect = ["lats"]\n'
    text = GOOD + "2026-03-02,harbour cranes,40,8\n"
    intake = read({"exports/tern/a.csv": text, "exercises.toml": own.replace('"row"', '"horizontal_pull"')})
    assert "harbour_crane" in intake.sets["exercise"].to_list()


def test_latest_week_end(read):
    sets = read({"exports/tern/a.csv": GOOD}).sets
    # 2026-03-02 is a Monday; ISO 8601 weeks end on Sunday.
    assert latest_week_end(sets, date(2026, 3, 8)) == date(2026, 3, 8)
    assert latest_week_end(sets, date(2026, 3, 7)) is None
    assert latest_week_end(sets, date(2026, 9, 1)) == date(2026, 3, 8)


def test_one_line_a_file(read):
    intake = read({"exports/tern/a.csv": GOOD + "2026-02-30,Deadlift,1,1\n", "exports/tern/b.csv": ""})
    assert file_lines(intake.ledger) == [
        "exports/tern/a.csv: row per set, ASCII, comma between cells, dates ymd, kg; "
        "3 rows = 1 used + 1 set aside + 0 duplicate + 1 not a set; 1 sets",
        "exports/tern/b.csv: refused. exports/tern/b.csv, line 1: the file is empty. Export it again",
    ]


def test_same_input_same_tables(read):
    files = {"exports/tern/a.csv": GOOD + "2026-03-02,Harbour crane,BW,8\n", "exports/gull/b.csv": GOOD}
    one, two = read(files), read(files)
    for name in ("sets", "set_aside", "ledger", "unknown_exercises"):
        assert getattr(one, name).equals(getattr(two, name))
