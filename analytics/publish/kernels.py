"""Kernels: one notebook run by papermill in a Jupyter kernel of its own.

Each kernel talks through Unix sockets in a private folder (TCP on Windows), has one thread for numerics, no
history and no start-up files of the user, and is gone when the call returns.
"""

from __future__ import annotations

import asyncio
import logging
import os
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from importlib.metadata import EntryPoint
from queue import Empty
from typing import Any

import papermill
from jupyter_client.asynchronous import AsyncKernelClient
from jupyter_client.kernelspec import KernelSpec, KernelSpecManager
from jupyter_client.manager import AsyncKernelManager
from jupyter_client.provisioning import KernelProvisionerFactory
from jupyter_core.utils import ensure_event_loop
from nbclient.exceptions import CellTimeoutError, DeadKernelError
from nbformat import NotebookNode
from papermill.exceptions import PapermillExecutionError

from analytics.errors import ReportFailed
from analytics.publish.environment import SHORT_TEMP, kernel_environment
from analytics.publish.forking import FORKED, STOCK
from analytics.publish.provisioner import ForkUnavailable
from analytics.publish.report import Limits
from analytics.publish.stable import parameters_cell, stable, unfinished

logging.getLogger("papermill").addHandler(logging.NullHandler())  # what fails is told by ReportFailed

PROVISIONER = "roster-fork"
_PROVISIONER_CLASS = "analytics.publish.provisioner:ForkedKernel"


class _Specs(KernelSpecManager):
    """The kernels of this package only: this very Python, whatever kernels the user has installed.

    A kernel is named ``stock``, or ``forked:`` and the path of a fork server's socket.
    """

    def get_kernel_spec(self, kernel_name: str) -> KernelSpec:
        argv = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
        spec = KernelSpec(argv=argv, display_name="Python 3", language="python", name=kernel_name)
        kind, _, address = kernel_name.partition(":")
        if kind == FORKED:
            config = {"address": address}
            spec.metadata["kernel_provisioner"] = {"provisioner_name": PROVISIONER, "config": config}
        return spec


def _register() -> None:
    """Makes the provisioner known where this package is used without being installed."""
    known = KernelProvisionerFactory.instance().provisioners
    if PROVISIONER not in known:
        group = KernelProvisionerFactory.GROUP_NAME
        known[PROVISIONER] = EntryPoint(PROVISIONER, _PROVISIONER_CLASS, group)


_register()


class _PromptClient(AsyncKernelClient):
    """A client that takes the kernel for ready when its answer and all messages about it are in.

    The stock client then listens for another 0.2 s of silence, which is a third of a report's time.
    """

    async def wait_for_ready(self, timeout: float | None = None) -> None:
        """Returns when the kernel answers on all channels; RuntimeError when it died or took too long."""
        end = time.monotonic() + (timeout or float("inf"))
        while time.monotonic() < end:
            asked = self.kernel_info()
            with suppress(Empty):
                reply = await self._answer(self.shell_channel, asked, 1.0)
                while True:
                    told = await self._answer(self.iopub_channel, asked, 0.2)
                    if told["content"].get("execution_state") == "idle":
                        self._handle_kernel_info_reply(reply)
                        return
            if not await self._async_is_alive():
                raise RuntimeError("it died before it answered")
        raise RuntimeError(f"it did not answer in {timeout:g} s")

    async def _answer(self, channel: Any, asked: str, patience_s: float) -> dict[str, Any]:
        while True:
            message: dict[str, Any] = await channel.get_msg(timeout=patience_s)
            if message["parent_header"].get("msg_id") == asked:
                return message


class _PrivateKernelManager(AsyncKernelManager):
    """A kernel manager whose files and sockets live in a `folder` of its own: see `_manager`."""

    folder = ""

    def __init__(self, **settings: Any) -> None:
        settings["connection_file"] = os.path.join(self.folder, "kernel.json")
        if os.name == "posix":
            settings |= {"transport": "ipc", "ip": os.path.join(self.folder, "s")}
        super().__init__(kernel_spec_manager=_Specs(), **settings)
        self.client_factory = _PromptClient

    async def _async_pre_start_kernel(self, **kw: Any) -> Any:
        kw["env"] = kernel_environment() | {"IPYTHONDIR": os.path.join(self.folder, "ipython")}
        kw["cwd"] = self.folder
        with open(os.path.join(self.folder, "stderr"), "ab") as said:
            kw["stdout"] = kw["stderr"] = os.dup(said.fileno())
        try:
            return await super()._async_pre_start_kernel(**kw)
        except BaseException:
            os.close(kw["stderr"])
            raise

    async def _async_launch_kernel(self, kernel_cmd: list[str], **kw: Any) -> None:
        try:
            await super()._async_launch_kernel(kernel_cmd, **kw)
        finally:
            os.close(kw["stderr"])


def _manager(folder: str) -> type[AsyncKernelManager]:
    """The manager class for one kernel: nbclient asks for a class, so the folder is a class attribute."""
    return type("KernelManager", (_PrivateKernelManager,), {"folder": folder})


def _private_folder() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="rk-", dir=SHORT_TEMP, ignore_cleanup_errors=True)


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
                kernel_manager_class=_manager(folder),
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
