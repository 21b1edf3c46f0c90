"""A large file is parsed while it is read: every portion gives what the whole text would have given."""

import codecs
import io

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from analytics.errors import BadExport
from analytics.intake.source import grid
from analytics.intake.source.grid import read_file, read_grid
from analytics.intake.source.text import decode

PIECES = st.sampled_from(
    [
        *(
            "Date;Lift;kg;Reps\r\n",
            "Date;Lift;kg;Reps\n",
            "2026-03-02;Row;80;8\n",
            "2026-03-03;Squat;100,5;5\r\n",
        ),
        *(
            '2026-03-04;"Row; wide";80;8\n',
            '2026-03-04;"";;\n',
            "\n",
            ";;;\n",
            ";;;;;\n",
            "Row\n",
            "Träning;ü;1;2\n",
        ),
        *(
            '5" box;1;2;3\n',
            '"two\nlines";1;2;3\n',
            '"open;1;2\n',
            "a\rb;c;d;e\n",
            "\x00;1\n",
            "a\u2028b;1\n",
            "last;1;2",
        ),
    ]
)
CODECS = st.sampled_from(["utf-8", "utf-8", "utf-8-sig", "cp1252", "utf-16"])


@pytest.fixture(autouse=True)
def small_portions(monkeypatch):
    for name, value in (("LARGE", 30), ("_PORTION", 64), ("_HEAD", 40)):
        monkeypatch.setattr(grid, name, value)


def told(read):
    """What a way of reading says of a file, or why it refuses it."""
    try:
        found = read()
    except BadExport as problem:
        return str(problem)
    cells = found.cells
    return cells.lines.to_list(), cells.written(), found.delimiter, found.encoding, found.cut


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(PIECES, min_size=2, max_size=30).map("".join), CODECS)
def test_portions_say_what_the_whole_says(text, codec):
    raw = text.encode(codec, errors="replace")
    whole = told(lambda: read_grid(decode(raw, "log.csv"), "log.csv"))
    assert told(lambda: read_file(io.BytesIO(raw), "log.csv")) == whole


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.binary(max_size=300))
@example(b"x\x01V\x01")
@example(b"x^;1\n2;3\n")
def test_any_bytes_in_portions(raw):
    whole = told(lambda: read_grid(decode(raw, "log.csv"), "log.csv"))
    assert told(lambda: read_file(io.BytesIO(raw), "log.csv")) == whole


PLAIN = "Date;Lift;kg;Reps\r\n" + '2026-03-02;"Row; wide";80;8\r\n' * 40


@pytest.mark.parametrize(
    ("raw", "encoding"),
    [
        (PLAIN.encode(), "ASCII"),
        (PLAIN.replace("wide", "weiß").encode(), "UTF-8"),
        (codecs.BOM_UTF8 + PLAIN.encode(), "UTF-8 with mark"),
    ],
)
def test_plain_files_are_not_read_whole(raw, encoding, monkeypatch):
    monkeypatch.setattr(grid, "decode", lambda *told: pytest.fail("it was read whole"))
    found = read_file(io.BytesIO(raw), "log.csv")
    assert (found.encoding, found.cells.height) == (encoding, 41)


def test_a_longer_line_further_down_is_not_read_whole(monkeypatch):
    monkeypatch.setattr(grid, "decode", lambda *told: pytest.fail("it was read whole"))
    found = read_file(io.BytesIO((PLAIN + "a;b;c;d;e\n").encode()), "log.csv")
    assert found.cells.lines[41] == 42
    assert found.cells.written(41) == [("a", "b", "c", "d", "e")]
    assert found.cells.columns[4].written == ["e"]
    assert found.cells.columns[4].ids.to_list() == [0] * 41 + [1]


def test_a_line_in_which_a_large_file_breaks_off_is_told(monkeypatch):
    monkeypatch.setattr(grid, "decode", lambda *told: pytest.fail("it was read whole"))
    rows = "Date;Lift;kg;Reps\n" + "2026-03-02;Row;80;8\n" * 400
    assert read_file(io.BytesIO((rows + "2026-03-02;Row;8").encode()), "log.csv").cut == 402
    assert read_file(io.BytesIO((rows + "2026-03-02;Row;80;8").encode()), "log.csv").cut is None
