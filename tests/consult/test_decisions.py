from datetime import date

import pytest

from analytics.consult.decisions import Decision, add
from analytics.errors import BadCall
from analytics.intake import read_folder

WHEN = date(2026, 11, 20)


def decision(**own):
    fields = {
        "date": WHEN,
        "athlete": "heron",
        "subject": "back_squat",
        "what": "two sets less",
        "why": "tired",
    }
    return Decision(**(fields | own))


def test_a_new_file_gets_its_header(tmp_path):
    file = tmp_path / "decisions.csv"
    add(decision(), file)
    add(decision(what='said "no", again', why="line\nbreak"), file)
    assert file.read_text() == (
        "date,athlete,subject,what,why\n"
        "2026-11-20,heron,back_squat,two sets less,tired\n"
        '2026-11-20,heron,back_squat,"said ""no"", again",line break\n'
    )


def test_a_file_without_a_last_line_end_is_continued_on_a_new_line(tmp_path):
    file = tmp_path / "decisions.csv"
    file.write_text("date,athlete,subject,what,why\n2026-01-01,heron,x,y,z")
    add(decision(), file)
    assert len(file.read_text().splitlines()) == 3


def test_nothing_said_or_another_header_changes_nothing(tmp_path):
    file = tmp_path / "decisions.csv"
    with pytest.raises(BadCall, match="what was changed"):
        add(decision(what="  "), file)
    assert not file.exists()
    file.write_text("a,b\n1,2\n")
    with pytest.raises(BadCall, match="another header"):
        add(decision(), file)
    assert file.read_text() == "a,b\n1,2\n"


def test_what_is_written_down_is_read_back(tmp_path, demo_folder):
    import shutil

    folder = tmp_path / "roster"
    shutil.copytree(demo_folder, folder)
    athlete = read_folder(folder, WHEN).roster.athletes[0].id
    add(decision(athlete=athlete), folder / "decisions.csv")
    rows = read_folder(folder, date(2026, 11, 22)).decisions.filter(athlete=athlete, date=WHEN)
    assert ("back_squat", "two sets less", "tired") in rows.select("subject", "what", "why").rows()
