"""The week's folder: whole or not at all, whatever interrupts a run and however many run at once."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from analytics.publish.folder import draft

_HOLD = """
import sys, time, pathlib
from analytics.publish.folder import draft
with draft(pathlib.Path(sys.argv[1]), "2026-W47") as new:
    (new / "half").write_text("half")
    print("in", flush=True)
    time.sleep(600)
"""


def publish(out: Path, week: str, text: str) -> None:
    with draft(out, week) as new:
        (new / "a.html").write_text(text)
        (new / "b.html").write_text(text)


def interrupted(out: Path, error: type[BaseException]) -> None:
    with draft(out, "2026-W47") as new:
        (new / "a.html").write_text("half")
        raise error


def left_over(out: Path) -> list[str]:
    return sorted(path.name for path in out.iterdir() if path.name != "2026-W47")


def test_a_finished_week_replaces_the_old_one_whole(tmp_path):
    publish(tmp_path, "2026-W47", "old")
    (tmp_path / "2026-W47" / "c.html").write_text("only in the old week")
    publish(tmp_path, "2026-W47", "new")
    assert {path.name: path.read_text() for path in (tmp_path / "2026-W47").iterdir()} == {
        "a.html": "new",
        "b.html": "new",
    }
    assert left_over(tmp_path) == []


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt])
def test_an_error_leaves_the_old_week_whole(tmp_path, error):
    publish(tmp_path, "2026-W47", "old")
    with pytest.raises(error):
        interrupted(tmp_path, error)
    assert (tmp_path / "2026-W47" / "a.html").read_text() == "old"
    assert left_over(tmp_path) == []


@pytest.mark.slow
def test_a_killed_run_leaves_the_old_week_whole_and_the_next_run_cleans_up(tmp_path):
    publish(tmp_path, "2026-W47", "old")
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    command = [sys.executable, "-c", _HOLD, str(tmp_path)]
    killed, living = (
        subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) for _ in range(2)
    )
    for run in (killed, living):
        assert run.stdout is not None
        assert run.stdout.readline() == "in\n"
        run.stdout.close()
    killed.send_signal(signal.SIGKILL)
    killed.wait()
    assert (tmp_path / "2026-W47" / "a.html").read_text() == "old"
    publish(tmp_path, "2026-W47", "new")
    assert (tmp_path / "2026-W47" / "a.html").read_text() == "new"
    drafts = [path for path in tmp_path.iterdir() if path.suffix == ".new"]
    assert [path.joinpath("half").read_text() for path in drafts] == ["half"]  # the living run's own
    living.terminate()
    living.wait()
    publish(tmp_path, "2026-W47", "newer")
    assert left_over(tmp_path) == []


def test_a_week_lost_in_the_middle_of_a_swap_comes_back(tmp_path):
    publish(tmp_path, "2026-W47", "old")
    stem = ".2026-W47.0123456789abcdef"
    (tmp_path / f"{stem}.lock").touch()
    os.rename(tmp_path / "2026-W47", tmp_path / f"{stem}.old")
    publish(tmp_path, "2026-W48", "other")
    assert (tmp_path / "2026-W47" / "a.html").read_text() == "old"
    assert left_over(tmp_path) == ["2026-W48"]


def test_other_files_beside_the_weeks_are_left_alone(tmp_path):
    (tmp_path / ".2026-W47.notes.new").mkdir()
    (tmp_path / ".gitignore").write_text("*")
    publish(tmp_path, "2026-W47", "new")
    assert left_over(tmp_path) == [".2026-W47.notes.new", ".gitignore"]


def _publish_often(out: Path, name: str) -> None:
    for turn in range(15):
        publish(out, "2026-W47", f"{name}{turn}")


@pytest.mark.slow
def test_runs_at_the_same_time_never_mix(tmp_path):
    publish(tmp_path, "2026-W47", "first")
    context = multiprocessing.get_context("spawn")
    runs = [context.Process(target=_publish_often, args=(tmp_path, name)) for name in "xyz"]
    for run in runs:
        run.start()
    end = time.monotonic() + 60
    while any(run.is_alive() for run in runs) and time.monotonic() < end:
        time.sleep(0.005)
    for run in runs:
        run.join()
        assert run.exitcode == 0
    week = tmp_path / "2026-W47"
    assert (week / "a.html").read_text() == (week / "b.html").read_text()
    assert left_over(tmp_path) == []
