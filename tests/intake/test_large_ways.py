"""Large files take other ways through the loader (threads, blocks); the tables are the same by each."""

from datetime import date
from pathlib import Path

import pytest
from polars.testing import assert_frame_equal

from analytics.intake import lookup, read_folder, threads
from analytics.intake.source import grid, octets
from analytics.intake.table import inference

DEMO = Path(__file__).parents[2] / "data_demo"
AS_OF = date(2026, 11, 22)
TABLES = ("sets", "set_aside", "ledger", "checkins", "unknown_exercises")


@pytest.fixture(scope="module")
def usual():
    return read_folder(DEMO, AS_OF)


def test_the_demo_read_as_if_it_were_large(usual, monkeypatch):
    for module, name, value in (
        (threads, "MANY_ROWS", 1),
        (lookup, "_FEW", 1),
        (grid, "LARGE", 1),
        (grid, "_PORTION", 500),
        (grid, "_HEAD", 400),
        (octets, "_BLOCK", 64),
        (inference, "_BLOCK", 50),
    ):
        assert hasattr(module, name)
        monkeypatch.setattr(module, name, value)
    large = read_folder(DEMO, AS_OF)
    assert usual.sets.height > 1000
    for table in TABLES:
        assert_frame_equal(getattr(large, table), getattr(usual, table), check_exact=True)
