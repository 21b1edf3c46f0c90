"""The batch as the coach meets it: real kernels, one failure costs one report, an old week stays whole."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from analytics.errors import BadCall
from analytics.publish.report import Limits

pytestmark = pytest.mark.slow
NOTEBOOKS = Path(__file__).parent / "notebooks"
ROSTER = ("heron", "bad", "otter")


def status(outcome) -> dict[str, str]:
    return {report.athlete: report.status for report in outcome.reports}


def kernels_alive(mark: str) -> list[int]:
    """Processes that inherited the mark in their environment."""
    found = []
    for folder in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if mark.encode() in (folder / "environ").read_bytes():
                found.append(int(folder.name))
    return found


@pytest.fixture
def mark(monkeypatch, tmp_path):
    monkeypatch.setenv("MARK_OF_THE_TEST", str(tmp_path))
    return f"MARK_OF_THE_TEST={tmp_path}"


def test_a_week_has_every_file_the_design_names(desk, mark):
    outcome = desk.run("counts", ROSTER)
    week = desk.out / "2026-W47"
    assert outcome.folder == week
    assert status(outcome) == {"heron": "rendered", "bad": "rendered", "otter": "rendered", "": "rendered"}
    found = {str(path.relative_to(week)) for path in week.rglob("*") if path.is_file()}
    pages = {f"athletes/{athlete}.{kind}" for athlete in ROSTER for kind in ("html", "ipynb")}
    assert found == pages | {
        "index.html",
        "roster.ipynb",
        "run.json",
        "tables/lifts.csv",
        "tables/trend_lines.parquet",
    }
    assert {report.athlete for report in desk.told} == {*ROSTER, ""}
    assert all(report.path.is_file() for report in outcome.reports)
    assert kernels_alive(mark) == []


def test_equal_runs_give_equal_bytes(desk, files):
    first = files(desk.run("draws", ("heron",)).folder)
    second = files(desk.run("draws", ("heron",), out=desk.folder / "elsewhere").folder)
    assert first == second


def test_nothing_changed_nothing_rendered(desk, files):
    before = files(desk.run("counts", ROSTER).folder)
    outcome = desk.run("counts", ROSTER)
    assert set(status(outcome).values()) == {"kept"}
    assert files(outcome.folder) == before


def test_another_athletes_log_leaves_a_page_alone(desk, tables_with):
    desk.run("counts", ROSTER)
    outcome = desk.run("counts", ROSTER, tables=tables_with(ROSTER, 1.0))
    assert status(outcome) == {"heron": "kept", "bad": "kept", "otter": "rendered", "": "rendered"}


def test_no_report_sees_another_athletes_rows(desk):
    desk.run("counts", ROSTER)
    assert "athletes seen: heron" in desk.page("heron")
    assert "otter" not in desk.page("heron")


@pytest.mark.parametrize(
    "notebook, cell, why",
    [
        ("raises", 2, "ValueError: no sets in tables/sets.parquet"),
        ("dies", 2, "the kernel died"),
        ("sleeps", 1, "the report took longer than 6 s"),
        ("exits", 1, "the notebook stopped before its end"),
    ],
)
def test_a_failure_costs_one_report(desk, mark, notebook, cell, why):
    outcome = desk.run(notebook, ROSTER, limits=Limits(report_s=6))
    assert status(outcome) == {"heron": "rendered", "bad": "failed", "otter": "rendered", "": "rendered"}
    (failed,) = outcome.failed
    assert (failed.cell, failed.why) == (cell, why)
    assert why in desk.page("bad")
    assert {"athlete": "bad", "status": "failed", "seconds": 0.0, "why": why, "cell": cell} in desk.record()[
        "reports"
    ]
    assert kernels_alive(mark) == []


def test_a_failed_athlete_keeps_the_last_good_page_marked(desk):
    desk.run("counts", ROSTER, week="2026-W46")
    good = desk.page("bad", "2026-W46")
    for _ in range(2):
        outcome = desk.run("raises", ROSTER)
        assert [report.athlete for report in outcome.failed] == ["bad"]
        page = desk.page("bad")
        assert page.count('<p class="note"') == 1
        assert "This page is of an earlier run" in page
        assert "Week 2026-W46" in page
        assert "athletes seen: bad" in good
        assert "athletes seen: bad" in page
    mended = desk.run("counts", ROSTER)
    assert mended.failed == ()
    assert '<p class="note"' not in desk.page("bad")


def test_only_the_athletes_asked_for(desk):
    desk.run("counts", ROSTER)
    before = desk.page("heron")
    outcome = desk.run("counts", ROSTER, athletes=("otter",), cautions=("Other words.",))
    assert status(outcome) == {"heron": "kept", "bad": "kept", "otter": "rendered", "": "rendered"}
    assert "not asked for" in desk.page("heron")
    assert "athletes seen: heron" in desk.page("heron")
    assert '<p class="note"' not in before


def test_wrong_calls_write_nothing(desk):
    with pytest.raises(BadCall, match="no athlete 'gull'"):
        desk.run("counts", ROSTER, athletes=("gull",))
    with pytest.raises(BadCall, match="no such notebook"):
        desk.run("counts", ROSTER, notebooks=Path("/nowhere"))
    assert not desk.out.exists()


def test_a_relative_folder_works_too(desk, monkeypatch):
    monkeypatch.chdir(desk.folder)
    outcome = desk.run("counts", ("heron",), out=Path("weeks"))
    assert outcome.failed == ()
    assert outcome.folder == Path("weeks/2026-W47")


_RUN = """
import sys
from datetime import date
from pathlib import Path
import polars as pl
from analytics.publish.batch import Job, publish
from analytics.roster import Athlete, Roster

folder = Path(sys.argv[1])
names = ("bad", "heron", "otter")
tables = {"lifts": pl.DataFrame({"athlete": names})}
roster = Roster(title="Lake squad", athletes=tuple(Athlete(id=name, name=name) for name in names))
day = date(2026, 11, 22)
where = {"notebooks": folder, "out": folder / "out"}
job = Job(week="2026-W47", as_of=day, tables=tables, roster=roster, inputs={}, **where)
publish(job, lambda report: print(report.athlete, flush=True))
"""


def test_an_interrupted_run_ends_at_once_and_leaves_nothing(tmp_path, mark):
    shutil.copy(NOTEBOOKS / "sleeps.ipynb", tmp_path / "athlete.ipynb")
    shutil.copy(NOTEBOOKS / "counts.ipynb", tmp_path / "roster.ipynb")
    old = tmp_path / "out" / "2026-W47"
    old.mkdir(parents=True)
    (old / "index.html").write_text("the old week")
    command = [sys.executable, "-c", _RUN, str(tmp_path)]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    run = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)
    assert run.stdout is not None
    assert run.stdout.readline() != ""  # one report is done, the sleeping one is under way
    assert len(kernels_alive(mark)) > 1
    run.send_signal(signal.SIGINT)
    assert run.wait(20) != 0
    run.stdout.close()
    assert [path.name for path in (tmp_path / "out").iterdir() if not path.name.startswith(".vega")] == [
        "2026-W47"
    ]
    assert (old / "index.html").read_text() == "the old week"
    assert kernels_alive(mark) == []
