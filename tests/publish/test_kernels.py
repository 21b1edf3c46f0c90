"""Forked and stock kernels: the same bytes, a process of its own for each report, and nothing left behind."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from importlib.metadata import EntryPoint
from pathlib import Path

import nbformat
import pytest
from jupyter_client.provisioning import KernelProvisionerFactory

from analytics.errors import ReportFailed
from analytics.publish import forking
from analytics.publish.kernels import run_notebook
from analytics.publish.report import Limits
from analytics.publish.source import load

NOTEBOOKS = Path(__file__).parent / "notebooks"
linux = pytest.mark.skipif(sys.platform != "linux", reason="forking is for Linux")


@pytest.fixture
def server():
    modules = forking.imported_modules(
        json.dumps(load(NOTEBOOKS / f"{n}.ipynb")) for n in ("draws", "counts")
    )
    with forking.fork_servers():
        server = forking.start_server(modules)
        assert server is not None
        assert server.address, server._answer
        yield server


def run(name: str, kernel: str, athlete: str = "heron", seconds: float = 60):
    source = nbformat.from_dict(load(NOTEBOOKS / f"{name}.ipynb"))
    return run_notebook(source, {"athlete": athlete, "tables": "/nowhere"}, Limits(report_s=seconds), kernel)


def words_of(notebook) -> str:
    return "".join(out.get("text", "") for cell in notebook.cells for out in cell.get("outputs", []))


@linux
@pytest.mark.slow
def test_pages_of_forked_and_stock_kernels_are_equal_byte_for_byte(desk, files):
    forked = files(desk.run("draws", ("heron", "otter"), kernels="forked", out=desk.folder / "f").folder)
    stock = files(desk.run("draws", ("heron", "otter"), kernels="stock", out=desk.folder / "s").folder)
    assert forked == stock
    assert b"param_1" in forked["athletes/heron.html"]


@linux
@pytest.mark.slow
def test_every_report_has_a_fresh_process_of_its_own(server):
    kernel = f"forked:{server.address}"
    seen = [json.loads(words_of(run("tells", kernel))) for _ in range(2)]
    pids, sessions = {one["pid"] for one in seen}, {one["session"] for one in seen}
    assert len(pids) == 2
    assert server._process.pid not in pids
    assert sessions == pids  # each leads a session of its own
    assert all(one["parent"] == server._process.pid for one in seen)
    assert [one["left_by_an_earlier_report"] for one in seen] == [False, False]


@linux
@pytest.mark.slow
def test_a_forked_kernel_lives_like_a_stock_one(server):
    forked, stock = (json.loads(words_of(run("tells", k))) for k in (f"forked:{server.address}", "stock"))
    for same in ("threads_for_numerics", "hash_seed", "history", "argv", "path"):
        assert forked[same] == stock[same]
    assert forked["folder"] != stock["folder"]
    assert Path(forked["folder"]).name.startswith("rk-")
    assert not Path(forked["folder"]).exists()


@linux
@pytest.mark.slow
@pytest.mark.parametrize("name, cell", [("dies", 2), ("raises", 2), ("sleeps", 1), ("exits", 1)])
def test_failures_of_forked_kernels_are_told_and_leave_no_process(server, name, cell):
    with pytest.raises(ReportFailed) as failed:
        run(name, f"forked:{server.address}", athlete="bad", seconds=3)
    assert failed.value.cell == cell
    deadline = time.monotonic() + 5
    while children(server._process.pid) and time.monotonic() < deadline:
        time.sleep(0.02)
    assert children(server._process.pid) == []


@linux
@pytest.mark.slow
def test_without_its_server_a_report_falls_back_to_a_stock_kernel(server):
    address = server.address
    server.stop()
    assert server.address == ""
    told = json.loads(words_of(run("tells", f"forked:{address}")))
    assert told["parent"] == os.getpid()


@linux
@pytest.mark.slow
def test_kernels_end_when_their_caller_is_killed(tmp_path):
    script = tmp_path / "caller.py"
    script.write_text(
        "import json, sys\n"
        "from analytics.publish import forking\n"
        "from analytics.publish.kernels import run_notebook\n"
        "from analytics.publish.report import Limits\n"
        "from analytics.publish.source import load\n"
        "server = forking.start_server(('polars',))\n"
        "print(server._process.pid, bool(server.address), flush=True)\n"
        "import nbformat, pathlib\n"
        f"source = nbformat.from_dict(load(pathlib.Path({str(NOTEBOOKS / 'sleeps.ipynb')!r})))\n"
        "parameters = {'athlete': 'bad', 'tables': '/nowhere'}\n"
        "run_notebook(source, parameters, Limits(), 'forked:' + server.address)\n"
    )
    environment = {**os.environ, "PYTHONPATH": str(Path(forking.__file__).parents[2])}
    caller = subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE, text=True, env=environment)
    assert caller.stdout is not None
    pid, sound = caller.stdout.readline().split()
    assert sound == "True"
    wait_for(lambda: children(int(pid)) != [])
    caller.kill()
    caller.wait()
    caller.stdout.close()
    wait_for(lambda: not Path(f"/proc/{pid}").exists())


@linux
def test_a_process_with_other_threads_is_not_forked():
    code = (
        "import threading; threading.Thread(target=threading.Event().wait, daemon=True).start()\n"
        "from analytics.publish.forkserver import _unsound; print(_unsound())"
    )
    environment = {**os.environ, "PYTHONPATH": str(Path(forking.__file__).parents[2])}
    told = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, env=environment
    ).stdout
    assert told.startswith("importing started threads: ")


def test_the_provisioner_is_behind_jupyters_door():
    entry = KernelProvisionerFactory.instance().provisioners["roster-fork"]
    assert isinstance(entry, EntryPoint)
    assert entry.load().__name__ == "ForkedKernel"


def test_a_server_imports_what_the_notebooks_import():
    source = json.dumps(load(NOTEBOOKS / "draws.ipynb"))
    found = forking.imported_modules([source])
    assert {"pathlib", "altair", "polars", "analytics.publish.show"} <= set(found)


def children(pid: int) -> list[int]:
    try:
        tasks = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        return []
    return [int(task) for task in tasks]


def wait_for(condition, seconds: float = 20) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end
        time.sleep(0.02)
