from datetime import date

import pytest

from analytics.charts import Report
from analytics.intake import read_folder
from analytics.simulate import write_demo
from analytics.week import analyse

AS_OF = date(2026, 11, 22)


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory):
    """An invented roster folder of four athletes and sixteen weeks; copy it before changing it."""
    folder = tmp_path_factory.mktemp("roster") / "demo"
    write_demo(folder, 4, 16, 5, None)
    return folder


@pytest.fixture(scope="session")
def demo_intake(demo_folder):
    return read_folder(demo_folder, AS_OF)


@pytest.fixture(scope="session")
def demo_tables(demo_intake):
    return analyse(demo_intake, AS_OF)


@pytest.fixture(scope="session")
def demo_report(demo_tables):
    """The first athlete's tables."""
    athlete = demo_tables["lifts"]["athlete"][0]
    own = {
        name: frame.filter(frame["athlete"] == athlete)
        for name, frame in demo_tables.items()
        if "athlete" in frame.columns
    }
    return Report.of(own)
