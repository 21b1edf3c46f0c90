"""The quick reader against the csv module: it reads a file the same way, or leaves it alone."""

import csv
import io

import polars as pl
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.intake.source import octets
from analytics.intake.source.grid import read_grid
from analytics.intake.source.text import decode

CELL = st.one_of(
    st.text("ab ;'\"", max_size=4),
    st.text("ab ;", max_size=4).map(lambda text: f'"{text}"'),
    st.text("ab ", max_size=3).map(lambda text: f'"{text}""{text}"'),
    st.sampled_from(['"', 'a"', '"a', ' "a"', '"a" ', '""', '5" box']),
)
LINES = st.lists(st.lists(CELL, min_size=1, max_size=4).map(";".join), min_size=1, max_size=5)
ENDS = st.sampled_from(["\n", "\r\n"])


def filled(cells):
    while cells and not cells[-1]:
        cells = cells[:-1]
    return [cell or None for cell in cells]


@settings(max_examples=300, deadline=None)
@given(LINES, ENDS)
def test_sound_quoting_is_read_as_the_csv_module_reads_it(lines, end):
    text = end.join(["x;y;z", *lines]) + end
    records = list(csv.reader(io.StringIO(text.replace("\r\n", "\n")), delimiter=";"))
    if not octets.quotes_at_ends(text.encode(), ";") or len(records) != len(lines) + 1:
        return
    cells = read_grid(decode(text.encode(), "log.csv"), "log.csv").cells
    found = [filled(row[1:]) for row in cells.select("row", pl.exclude("row").cast(pl.String)).rows()]
    assert found == [filled(record) for record in records]


@given(st.lists(st.sampled_from(['"ab;c";', '""\n', "a;", "\n", '"x"\r\n', '"', 'a"']), max_size=60))
def test_blocks_of_any_size_say_the_same_of_quotes(parts):
    utf8 = "".join(parts).encode()
    whole = octets.quotes_at_ends(utf8, ";")
    usual, octets._BLOCK = octets._BLOCK, 64
    try:
        assert octets.quotes_at_ends(utf8, ";") == whole
        lone = utf8.count(b"\r") != utf8.count(b"\r\n")
        assert octets.line_ends(utf8) == (utf8.count(b"\n"), lone)
    finally:
        octets._BLOCK = usual


def test_quotes_stand_only_at_the_ends_of_cells():
    assert octets.quotes_at_ends(b'a;"b;c"\n"";"d"', ";")
    for odd in (b'a;"b\n', b'5" box;3\n', b'"a"b;c\n', b'"a ""b""";c\n'):
        assert not octets.quotes_at_ends(odd, ";")
