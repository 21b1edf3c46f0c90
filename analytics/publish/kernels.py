"""Kernels: one notebook run by papermill in a Jupyter kernel of its own.

Each kernel talks through Unix sockets in a private folder (TCP on Windows), has one thread for numerics, no
history and no start-up files of the user, and is gone when the call returns.
"""

from __future__ import annotations

import asyncio
import logging
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

import papermill
from jupyter_core.utils import ensure_event_loop
from nbclient.exceptions import CellTimeoutError, DeadKernelError
from nbformat import NotebookNode
from papermill.exceptions import PapermillExecutionError

from analytics.errors import ReportFailed
from analytics.publish.environment import SHORT_TEMP
from analytics.publish.forking import STOCK
from analytics.publish.managers import PrivateKernelManager, manager_in
from analytics.publish.provisioner import ForkUnavailable
from analytics.publish.report import Limits
from analytics.publish.stable import parameters_cell, stable, unfinished

logging.getLogger("papermill").addHandler(logging.NullHandler())  # what fails is told by ReportFailed

_live: dict[str, PrivateKernelManager] = {}
_abandoned = threading.Event()


@contextmanager
def no_more_kernels() -> Iterator[None]:
    """On the way out of an interrupted run: kernels that live are killed, and no new one starts meanwhile."""
    _abandoned.set()
    for manager in list(_live.values()):
        manager.end_now()
    try:
        yield
    finally:
        _abandoned.clear()


@contextmanager
def _private_folder() -> Iterator[str]:
    """A folder for one kernel's files and sockets; neither the folder nor the kernel outlives the block."""
    if _abandoned.is_set():
        raise RuntimeError("the run was interrupted")
    with tempfile.TemporaryDirectory(prefix="rk-", dir=SHORT_TEMP, ignore_cleanup_errors=True) as folder:
        try:
            yield folder
        finally:
            manager = _live.pop(folder, None)
            if manager is not None:
                manager.end_now()


@contextmanager
def _event_loop() -> Iterator[None]:
    """The event loop that nbclient makes for a thread and leaves open: here it ends with the report."""
    loop = ensure_event_loop()
    try:
        yield
    finally:
        left = asyncio.all_tasks(loop)
        for task in left:
            task.cancel()
        loop.run_until_complete(asyncio.gather(*left, return_exceptions=True))
        loop.run_until_complete(loop.shutdown_asyncgens())
        asyncio.set_event_loop(None)
        loop.close()


def run_notebook(
    source: NotebookNode, parameters: Mapping[str, str], limits: Limits, kernel: str = STOCK
) -> NotebookNode:
    """The notebook with its outputs, equal byte for byte whenever source and data are equal.

    `parameters` (`athlete`, `tables`) are strings for the cell tagged ``parameters``.  Raises ReportFailed
    with the cell (counted in `source`) when a cell raises, the kernel dies, or time is up.
    """
    started: list[str] = []
    end = time.monotonic() + limits.report_s
    try:
        with _event_loop(), _private_folder() as folder:
            done = papermill.execute_notebook(
                source,
                None,
                parameters=dict(parameters),
                kernel_name=kernel,
                progress_bar=False,
                request_save_on_cell_execute=False,
                start_timeout=limits.start_s,
                timeout_func=lambda cell: max(end - time.monotonic(), 0.01),
                kernel_manager_class=manager_in(folder, _live),
                shutdown_kernel="immediate",
                record_timing=False,
                extra_arguments=["--HistoryManager.enabled=False"],
                on_cell_start=lambda cell, cell_index: started.append(cell.id),
            )
    except PapermillExecutionError as problem:
        why = f"{problem.ename}: {problem.evalue}"
    except CellTimeoutError:
        why = f"the report took longer than {limits.report_s:g} s"
    except DeadKernelError:
        why = "the kernel died"
    except ForkUnavailable:
        return run_notebook(source, parameters, limits, STOCK)
    except (RuntimeError, OSError) as problem:
        why = f"the kernel did not start: {problem}"
    else:
        if unfinished(done) is None:
            return stable(done, parameters["tables"])
        why = "the notebook stopped before its end"
    raise ReportFailed(parameters["athlete"], _cell(source, started), _short(why, parameters["tables"]))


def _cell(source: NotebookNode, started: list[str]) -> int:
    """The index in `source` of the cell started last; papermill's own cell counts as the parameters."""
    if not started:
        return -1
    ids = [cell.id for cell in source.cells]
    return ids.index(started[-1]) if started[-1] in ids else parameters_cell(source)


def _short(why: str, folder: str) -> str:
    lines = why.replace(folder, "tables").splitlines()
    return lines[0][:300] if lines else "no message"
