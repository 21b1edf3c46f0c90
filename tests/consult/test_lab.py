"""The consult as a coach has it: JupyterLab in a real browser, nothing from outside, a decision kept."""

import csv
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path
from urllib.parse import urlsplit

import pytest

pytestmark = [pytest.mark.slow, pytest.mark.timeout(180)]
OPEN = """
import sys
from datetime import date
from pathlib import Path
from analytics.consult.launch import open_consult
if __name__ == "__main__":
    sys.exit(open_consult(Path(sys.argv[1]), date(2026, 11, 25), print))
"""
DRAWN = """() => {
  const canvas = document.querySelector(".jp-OutputArea-output canvas");
  if (!canvas || canvas.dataset.old) return false;
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  let ink = 0;
  for (let at = 0; at < data.length; at += 4)
    ink += data[at + 3] > 0 && data[at] + data[at + 1] + data[at + 2] < 300;
  return ink > 1000;
}"""
UPPER = """() => {
  const canvas = document.querySelector(".jp-OutputArea-output canvas");
  const { width, height } = canvas;
  const { data } = canvas.getContext("2d").getImageData(0, 0.15 * height, width, 0.3 * height);
  return data.reduce((sum, value, at) => (31 * sum + value * (at % 251)) % 1000000007, 7);
}"""
MARK_OLD = "document.querySelectorAll('.jp-OutputArea-output canvas').forEach((c) => (c.dataset.old = 'yes'))"


@pytest.fixture(scope="module")
def roster(demo_folder, tmp_path_factory):
    return shutil.copytree(demo_folder, tmp_path_factory.mktemp("consult") / "roster")


@pytest.fixture(scope="module")
def lab(roster, tmp_path_factory):
    """JupyterLab on the consult notebook, with a home of its own: its address and token."""
    home = tmp_path_factory.mktemp("home")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    settings = {
        "ServerApp": {"open_browser": False, "port": port, "port_retries": 0, "allow_root": True},
        "ExtensionApp": {"open_browser": False},
    }
    (home / "config").mkdir()
    (home / "config" / "jupyter_server_config.json").write_text(json.dumps(settings))
    own = {"HOME": home, "IPYTHONDIR": home / "ipython"}
    own |= {f"JUPYTER_{name.upper()}_DIR": home / name for name in ("config", "data", "runtime")}
    own |= {"JUPYTERLAB_WORKSPACES_DIR": home / "workspaces"}
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("JUPYTER", "XDG_"))}
    environment = kept | {key: str(value) for key, value in own.items()}
    environment["PYTHONPATH"] = str(Path(__file__).parents[2])
    script = home / "open.py"
    script.write_text(OPEN)
    with (home / "log").open("w") as log:
        server = subprocess.Popen(
            [sys.executable, str(script), str(roster)],
            stdout=log,
            stderr=log,
            env=environment,
            start_new_session=True,
        )
    try:
        yield found_server(server, home)
    finally:
        os.killpg(server.pid, signal.SIGTERM)
        try:
            server.wait(20)
        except subprocess.TimeoutExpired:
            os.killpg(server.pid, signal.SIGKILL)
            server.wait()


def found_server(server, home):
    end = time.monotonic() + 90
    while time.monotonic() < end:
        assert server.poll() is None, (home / "log").read_text()
        for file in (home / "runtime").glob("jpserver-*.json"):
            facts = json.loads(file.read_text() or "{}")
            if "url" in facts:
                return facts
        time.sleep(0.2)
    raise AssertionError((home / "log").read_text())


@pytest.fixture(scope="module")
def desk(browser, lab):
    """The consult notebook after all its cells ran, and what the browser said and asked from elsewhere."""
    context, said = browser.new_context(viewport={"width": 1280, "height": 1300}), []
    here = urlsplit(lab["url"]).netloc

    def only_here(route):
        if route.request.url.startswith((lab["url"], "data:", "blob:")):
            route.continue_()
        else:
            said.append(f"asked: {route.request.url}")
            route.abort()

    context.route("**/*", only_here)
    page = context.new_page()
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: said.append(f"error: {error}"))
    page.on(
        "websocket",
        lambda own: said.append(f"asked: {own.url}") if urlsplit(own.url).netloc != here else None,
    )
    page.goto(f"{lab['url']}lab/tree/consult.ipynb?token={lab['token']}")
    page.wait_for_selector(".jp-Notebook .jp-CodeCell", timeout=60_000)
    page.wait_for_selector("text=Python 3 (ipykernel) | Idle", timeout=60_000)
    page.click(".jp-MarkdownCell >> nth=0")
    page.keyboard.press("Escape")
    page.keyboard.press("Control+A")
    page.keyboard.press("Control+Enter")
    page.wait_for_function(DRAWN, timeout=60_000)
    yield page, said
    context.close()


def choose(page, place, label):
    page.evaluate(MARK_OLD)
    page.locator(".widget-dropdown select").nth(place).select_option(label=label)
    page.wait_for_function(DRAWN, timeout=10_000)


def options(page, place):
    return page.locator(".widget-dropdown select").nth(place).locator("option").all_inner_texts()


def test_an_athlete_and_a_lift_are_drawn_at_once(desk, demo_tables):
    page, said = desk
    names = options(page, 0)
    assert names == demo_tables["athlete"]["name"].sort().to_list()
    choose(page, 0, names[1])
    lifts = [label for label in options(page, 2) if label != "nothing"]
    assert len(lifts) > 2
    choose(page, 1, lifts[1])
    assert page.locator(".vega-actions").count() == 0, "its menu has an entry that hands the chart elsewhere"
    assert said == []


def test_marking_a_stretch_below_sets_the_days_shown_above(desk):
    page, said = desk
    box = page.locator(".jp-OutputArea-output canvas").bounding_box()
    whole = page.evaluate(UPPER)
    y = box["y"] + 0.8 * box["height"]
    page.mouse.move(box["x"] + 0.3 * box["width"], y)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.4 * box["width"], y, steps=4)
    page.mouse.move(box["x"] + 0.7 * box["width"], y, steps=4)
    page.mouse.up()
    page.wait_for_function(f"({UPPER})() !== {whole}", timeout=10_000)
    assert said == []


def test_two_lifts_stand_beside_each_other(desk):
    page, said = desk
    shown = page.locator(".widget-dropdown select").nth(1).locator("option:checked").inner_text()
    other = next(label for label in options(page, 2) if label not in ("nothing", shown))
    choose(page, 2, other)
    assert said == []


def test_two_periods_are_read_with_their_intervals(desk, demo_tables):
    page, said = desk
    days = page.locator(".widget-datepicker input")
    for place, day in enumerate(("2026-08-03", "2026-10-04", "2026-10-05", "2026-11-22")):
        days.nth(place).fill(day)
        days.nth(place).press("Tab")
    for start in ("03 Aug 2026 to 04 Oct 2026", "05 Oct 2026 to 22 Nov 2026"):
        page.wait_for_selector(f"text=/{start}: .*(% a week \\(80 % interval|no slope)/", timeout=10_000)
    assert said == []


def test_a_decision_is_written_down(desk, roster, demo_tables):
    page, said = desk
    athlete = page.locator(".widget-dropdown select").nth(0).locator("option:checked").inner_text()
    inputs = page.locator(".widget-text input")
    inputs.nth(0).fill('one set less, "light"')
    inputs.nth(1).fill("tired <b>knees</b>")
    page.locator("button", has_text="write it down").click()
    page.wait_for_selector("text=Written to decisions.csv.", timeout=10_000)
    rows = list(csv.DictReader((roster / "decisions.csv").read_text(encoding="utf-8").splitlines()))
    people = dict(demo_tables["athlete"].select("name", "athlete").rows())
    assert rows[-1]["athlete"] == people[athlete]
    assert (rows[-1]["what"], rows[-1]["why"]) == ('one set less, "light"', "tired <b>knees</b>")
    assert said == []
