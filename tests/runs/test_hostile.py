"""What a stranger may write into a log, a name or a path, and what must come of it."""

import os

import pytest

from analytics.cli import main
from analytics.publish import marks

ROSTER = '[defaults]\nunit = "kg"\n[[athlete]]\nid = "heron"\nname = "Heron"\n'
MARKS = [marks.LIBRARY, marks.LIBRARY_HASH, marks.NOTE, marks.PLAIN, "/* the drawing library */"]


def roster(folder, log, name="log.csv"):
    (folder / "exports" / "heron").mkdir(parents=True)
    (folder / "roster.toml").write_text(ROSTER)
    (folder / "exports" / "heron" / name).write_text(log)
    return folder


def squats(exercise, days):
    rows = "".join(f"2026-11-{day:02d},{exercise},100,5\n" for day in range(1, days + 1))
    return "Date,Exercise,Weight (kg),Reps\n" + rows


@pytest.mark.slow
@pytest.mark.parametrize("days", [1, 9])
def test_an_athlete_who_has_just_begun_gets_a_page(days, tmp_path, capsys):
    folder = roster(tmp_path / "r", squats("Back squat", days))
    assert main(["weekly", str(folder), "--week", "2026-W47", "--out", str(tmp_path / "out")]) == 0


@pytest.mark.slow
def test_no_exercise_name_can_forge_a_mark_of_the_page(tmp_path, capsys):
    lines = "".join(squats(f'"{mark}"', 12)[len(squats("", 0)) :] for mark in MARKS)
    folder = roster(tmp_path / "r", squats("", 0) + lines)
    assert main(["weekly", str(folder), "--week", "2026-W47", "--out", str(tmp_path / "out")]) == 0
    for page in (tmp_path / "out" / "2026-W47").rglob("*.html"):
        text = page.read_text(encoding="utf-8")
        assert text.count("Copyright") == text.replace(marks.LIBRARY, "").count("Copyright")
        assert marks.LIBRARY not in text
        assert text.count("<script") == text.count("</script>")
        assert len(text) < 1_200_000


def test_a_file_name_cannot_write_to_the_terminal(tmp_path, capsys):
    folder = roster(tmp_path / "r", squats("Back squat", 3))
    (folder / "exports" / "heron" / "a\nrefused: all\x1b[2J.csv").write_text("nothing to see")
    main(["read", str(folder), "--out", str(tmp_path / "out")])
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert not any(line.startswith("refused: all") for line in out.splitlines())


def test_a_file_name_that_is_no_text_costs_nothing_else(tmp_path, capsys):
    folder = roster(tmp_path / "r", squats("Back squat", 3))
    odd = os.fsencode(folder / "exports" / "heron") + b"/l\xff.csv"
    with open(odd, "w") as file:
        file.write(squats("Bench press", 3))
    assert main(["read", str(folder), "--out", str(tmp_path / "out")]) == 0
    assert "l\\xff.csv" in capsys.readouterr().out


@pytest.mark.parametrize(
    "words",
    [
        ["states", "FOLDER", "--out", "FILE"],
        ["states", "FOLDER", "--out", "FILE/below"],
        ["states", "FOLDER", "--as-of", "0001-01-01", "--out", "OUT"],
        ["states", "FOLDER", "--as-of", "9999-12-31", "--out", "OUT"],
        ["weekly", "FOLDER", "--out", "FOLDER/exports/heron"],
        ["demo", "FILE"],
    ],
)
def test_an_impossible_place_or_day_is_one_line_and_code_two(words, tmp_path, capsys):
    folder = roster(tmp_path / "r", squats("Back squat", 15))
    (tmp_path / "file").write_text("x")
    places = {"FOLDER": folder, "FILE": tmp_path / "file", "OUT": tmp_path / "out"}
    for key, place in places.items():
        words = [word.replace(key, str(place)) for word in words]
    assert main(words) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
