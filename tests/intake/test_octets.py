"""Counting bytes block by block, beside the plain methods of `bytes` and the csv module's own reading."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.intake.source import octets
from analytics.intake.source.octets import line_ends, quotes_at_ends

LINES = st.lists(st.sampled_from([b"\r\n", b"\n", b"\r", b"ab", b";"]), max_size=200).map(b"".join)
CELLS = st.sampled_from(['"a;b"', '""', "12", "", '"x"', "a b"])
ROWS = st.lists(st.lists(CELLS, min_size=1, max_size=6).map(";".join), min_size=1, max_size=40)


@pytest.fixture(autouse=True, params=[64, 128, 1 << 18])
def _blocks(request, monkeypatch):
    monkeypatch.setattr(octets, "_BLOCK", request.param)


@settings(deadline=None)
@given(LINES)
def test_counts_are_those_of_bytes(text):
    assert line_ends(text) == (text.count(b"\n"), text.count(b"\r") != text.count(b"\r\n"))


@settings(deadline=None)
@given(ROWS, st.sampled_from(["\n", "\r\n"]))
def test_quotes_that_open_and_close_cells_are_at_ends(rows, end):
    text = end.join(rows)
    assert quotes_at_ends(text.encode(), ";")
    told = list(csv.reader(io.StringIO(text), delimiter=";"))
    assert [len(record) for record in told if record] == [
        len(next(csv.reader([row], delimiter=";"))) for row in rows if row
    ]


@settings(deadline=None)
@given(ROWS, st.sampled_from(['a"', '"a', '"a"b', 'a"b"c', '"a""b"']), st.integers(0, 40))
def test_a_quote_elsewhere_is_seen(rows, odd, at):
    rows.insert(at % (len(rows) + 1), odd)
    assert not quotes_at_ends("\n".join(rows).encode(), ";")
