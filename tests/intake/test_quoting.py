"""The quick reader against the csv module: it reads a text line by line the same way, or leaves it alone."""

import csv

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from analytics.intake.source.scan import Shape, scan
from analytics.intake.source.text import decode

CELL = st.one_of(
    st.text("ab ;'\"\té", max_size=4),
    st.text("ab ;", max_size=4).map(lambda text: f'"{text}"'),
    st.text("ab ", max_size=3).map(lambda text: f'"{text}""{text}"'),
    st.sampled_from(['"', 'a"', '"a', ' "a"', '"a" ', '"a"b', '""', '5" box']),
)
LINES = st.lists(st.lists(CELL, max_size=4).map(";".join), min_size=1, max_size=6)
ENDS = st.sampled_from(["\n", "\r\n"])


def scanned(text, width):
    found = scan(decode(text.encode(), "log.csv"), Shape(";", width))
    return None if found is None else [filled(row) for row in found.written()]


def records(lines):
    """(records by the csv module, whether each of them is one line)."""
    reader = csv.reader([line + "\n" for line in lines], delimiter=";")
    found = [filled(record) for record in reader]
    return found, len(found) == len(lines) and not any("\n" in (cell or "") for row in found for cell in row)


def filled(cells):
    while cells and not cells[-1]:
        cells = cells[:-1]
    return [cell or None for cell in cells]


@settings(max_examples=1000, deadline=None)
@given(LINES, ENDS, st.booleans(), st.integers(1, 4))
@example(['a"b;"a'], "\n", False, 2)
@example(['"a";"', 'b"'], "\n", True, 2)
def test_lines_are_read_as_the_csv_module_reads_them_or_left_alone(lines, end, ended, width):
    text = end.join(lines) + (end if ended or not lines[-1] else "")
    expected, by_lines = records(lines)
    assert scanned(text, width) == (expected if by_lines else None)


@pytest.mark.parametrize("odd", ['5" box;3', '"a"b;c', '"a ""b""";c', "", "one", "1;2;3;4;5"])
def test_odd_lines_stand_where_they_stood(odd):
    lines = ["x;y", odd, '"1;2";3', odd]
    assert scanned("\n".join(lines) + "\n", 2) == records(lines)[0]


def test_a_cell_beyond_all_limits_is_left_alone():
    assert scanned("a;b\n" + "x" * 300_000, 2) is None
    assert scanned("a;b\n1;2;" + "x" * 300_000 + "\n3;4\n", 2) is None


def test_a_text_of_titles_only():
    assert scanned("one\ntwo\n", 2) == [["one"], ["two"]]
