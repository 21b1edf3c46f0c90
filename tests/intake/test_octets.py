"""Counting bytes block by block, beside the plain methods of `bytes`."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.intake.source import octets
from analytics.intake.source.octets import line_ends

LINES = st.lists(st.sampled_from([b"\r\n", b"\n", b"\r", b"ab", b";"]), max_size=200).map(b"".join)


@pytest.fixture(autouse=True, params=[64, 128, 1 << 18])
def _blocks(request, monkeypatch):
    monkeypatch.setattr(octets, "_BLOCK", request.param)


@settings(deadline=None)
@given(LINES)
def test_counts_are_those_of_bytes(text):
    assert line_ends(text) == (text.count(b"\n"), text.count(b"\r") != text.count(b"\r\n"))
