from collections.abc import Callable
from datetime import date

import polars as pl
import pytest

from analytics.catalogue import Catalogue, load_catalogue
from analytics.schema import SETS, conform

MONDAY = date(2026, 11, 16)


@pytest.fixture(scope="session")
def catalogue() -> Catalogue:
    return load_catalogue()


@pytest.fixture
def make_sets() -> Callable[..., pl.DataFrame]:
    """Set table from dictionaries; what a test does not say is one plain working set of an invented log."""

    def build(*rows: dict) -> pl.DataFrame:
        plain = {column.name: None for column in SETS.columns} | {
            "athlete": "wren",
            "date": MONDAY,
            "session": 1,
            "position": 1,
            "exercise": "bench_press",
            "role": "working",
            "role_source": "logged",
            "load_kg": 60.0,
            "reps": 8,
            "suspect": False,
            "source_file": "log.csv",
        }
        counted = [
            plain | {"set_number": number, "source_row": number} | row for number, row in enumerate(rows, 1)
        ]
        named = [{"exercise_as_logged": row["exercise"]} | row for row in counted]
        for row in named:
            row["exercise_as_logged"] = row["exercise_as_logged"] or row["exercise"]
        schema = {column.name: column.dtype for column in SETS.columns}
        return conform(pl.DataFrame(named, schema=schema), SETS)

    return build
