"""Bytes looked at block by block, beside the plain methods of `bytes`."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analytics.intake.source import octets
from analytics.intake.source.octets import has_lone_return

LINES = st.lists(st.sampled_from([b"\r\n", b"\n", b"\r", b"ab", b";"]), max_size=200).map(b"".join)


@pytest.fixture(autouse=True, params=[64, 128, 1 << 18])
def _blocks(request, monkeypatch):
    monkeypatch.setattr(octets, "_BLOCK", request.param)


@settings(deadline=None)
@given(LINES)
def test_lone_returns_are_those_that_bytes_count(text):
    assert has_lone_return(text) == (text.count(b"\r") != text.count(b"\r\n"))
