from datetime import date

from analytics.intake import read_folder

ROSTER = '[defaults]\nunit = "kg"\n[[athlete]]\nid = "heron"\n'
HEADER = "Date,Exercise,Weight (kg),Reps,Note\n"


def read(folder, rows):
    (folder / "exports" / "heron").mkdir(parents=True)
    (folder / "roster.toml").write_text(ROSTER)
    (folder / "exports" / "heron" / "log.csv").write_text(HEADER + rows)
    return read_folder(folder, date(2026, 11, 22))


def row(day, note=""):
    return f"2026-09-{day:02d},Back squat,100,5,{note}\n"


def test_a_quote_that_is_never_closed_swallows_no_row(tmp_path):
    rows = "".join(row(day) for day in range(1, 11)) + '2026-09-11,"Back squat,100,5,\n'
    rows += "".join(row(day) for day in range(12, 20))
    intake = read(tmp_path, rows)
    ledger = intake.ledger.row(0, named=True)
    assert ledger["rows_read"] == 20
    assert intake.sets.height == 19
    assert intake.sets["date"].n_unique() == 19


def test_quotes_of_two_notes_swallow_no_row_between_them(tmp_path):
    rows = row(1) + row(2, '"felt heavy') + row(3) + row(4) + row(5, 'done"') + row(6)
    assert read(tmp_path, rows).sets.height == 6


def test_a_note_of_two_lines_stays_one_note(tmp_path):
    # RFC 4180, section 2, rule 6: line breaks inside quotes belong to the field.
    intake = read(tmp_path, row(1) + row(2, '"felt heavy,\nbut fine"') + row(3))
    assert intake.sets.height == 3
    assert "but fine" in intake.sets["note"][1]
