from datetime import date

import pytest
from playwright.sync_api import sync_playwright

from analytics.charts import Report
from analytics.intake import lookup, read_folder, threads
from analytics.intake.source import grid, octets
from analytics.intake.table import inference
from analytics.publish.printing import find_browser
from analytics.simulate import write_demo
from analytics.week import analyse

AS_OF = date(2026, 11, 22)
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@pytest.fixture(scope="module")
def browser():
    """A real browser that asks for nothing by itself; its loop must end before other modules' begin."""
    path = find_browser()
    if path is None:
        pytest.skip("no Chromium here: install one to look at pages in a browser")
    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=path, args=QUIET)
        yield opened
        opened.close()


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


@pytest.fixture
def as_if_large(monkeypatch):
    """Any file goes the ways of large ones through the loader: portions, blocks and threads."""
    for module, name, value in (
        (threads, "MANY_ROWS", 1),
        (lookup, "_FEW", 1),
        (grid, "LARGE", 1),
        (grid, "_PORTION", 300),
        (grid, "_HEAD", 120),
        (octets, "_BLOCK", 64),
        (inference, "_BLOCK", 20),
    ):
        assert hasattr(module, name)
        monkeypatch.setattr(module, name, value)
