"""Rows after the day of the run set no earlier row aside; invented logs, for mechanics."""

from datetime import date

import pytest

from analytics.intake import read_folder

AS_OF = date(2026, 6, 3)
ROSTER = '[roster]\ntitle = "Later"\n[defaults]\nunit = "kg"\n[[athlete]]\nid = "teal"\nname = "Teal"\n'
EARLY = ["2026-06-01,Squat,100,5", "2026-06-01,Bench press,70,6"]
LATER = ["2026-06-05,Squat,102.5,5", "2026-06-05,Bench press,72.5,6"]
HALF = ["2026-06-01,Leg curl,40,", "2026-06-01,Squat,100,5"]
HALF_LATER = ["2026-06-05,Leg curl,42.5,10"]


def told(folder, lines, as_of):
    (folder / "roster.toml").write_text(ROSTER)
    place = folder / "exports" / "teal"
    place.mkdir(parents=True, exist_ok=True)
    (place / "log.csv").write_text("\n".join(["Date,Exercise,Weight,Reps", *lines]) + "\n")
    intake = read_folder(folder, as_of)
    return intake.sets.drop("source_row"), intake.set_aside.filter(intake.set_aside["kind"] != "later")


@pytest.mark.parametrize(
    ("early", "whole"), [(EARLY + EARLY, (EARLY + LATER) * 2), (HALF, HALF + HALF_LATER)]
)
def test_later_rows_set_no_earlier_ones_aside(tmp_path, early, whole):
    sets, aside = told(tmp_path, early, AS_OF)
    assert sets.height == len(early)
    assert aside.is_empty()
    again, aside = told(tmp_path, whole, AS_OF)
    assert again.equals(sets)
    assert aside.is_empty()
    _, aside = told(tmp_path, whole, date(2026, 6, 7))
    assert not aside.is_empty()


@pytest.mark.parametrize("last", ["3x5@105", "a broken cell 3x"])
def test_a_later_day_in_a_line_of_several_days_changes_none_of_them(tmp_path, last):
    lines = ["Squat,3x5@100,3x5@102.5", "Bench press,3x8@70,"]
    found = []
    for header, work in (("", ["", ""]), (",2026-06-05", [f",{last}", ",3x8@72.5"])):
        cells = [line + more for line, more in zip(lines, work, strict=True)]
        told(tmp_path, [], AS_OF)
        log = tmp_path / "exports" / "teal" / "log.csv"
        log.write_text("\n".join([f"Exercise,2026-06-01,2026-06-03{header}", *cells]) + "\n")
        intake = read_folder(tmp_path, AS_OF)
        assert intake.set_aside.is_empty()
        found.append(intake.sets)
    assert found[0].equals(found[1])
    assert found[0].height == 9
