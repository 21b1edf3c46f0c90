"""Large files take other ways through the loader (threads, blocks); the tables are the same by each.

The exports of tests/dialects go both ways too.
"""

from datetime import date
from pathlib import Path

import pytest
from polars.testing import assert_frame_equal

from analytics.intake import read_folder

DEMO = Path(__file__).parents[2] / "data_demo"
AS_OF = date(2026, 11, 22)
TABLES = ("sets", "set_aside", "ledger", "checkins", "unknown_exercises")


@pytest.fixture(scope="module")
def usual():
    return read_folder(DEMO, AS_OF)


@pytest.mark.usefixtures("as_if_large")
def test_the_demo_read_as_if_it_were_large(usual):
    large = read_folder(DEMO, AS_OF)
    assert usual.sets.height > 1000
    for table in TABLES:
        assert_frame_equal(getattr(large, table), getattr(usual, table), check_exact=True)
