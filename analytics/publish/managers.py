"""Kernel managers: Jupyter's parts, set up so that kernels on one machine keep out of each other's way."""

from __future__ import annotations

import os
import signal
import sys
import time
from contextlib import suppress
from importlib.metadata import EntryPoint
from queue import Empty
from typing import Any

from jupyter_client.asynchronous import AsyncKernelClient
from jupyter_client.kernelspec import KernelSpec, KernelSpecManager
from jupyter_client.manager import AsyncKernelManager
from jupyter_client.provisioning import KernelProvisionerFactory

from analytics.publish.environment import kernel_environment
from analytics.publish.forking import FORKED

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


class PrivateKernelManager(AsyncKernelManager):
    """A kernel manager whose files and sockets live in a `folder` of its own: see `manager_in`."""

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

    def end_now(self) -> None:
        """Kills the kernel and its children, from any thread; nothing if there is none."""
        pid = getattr(self.provisioner, "pid", None)
        if pid and self.has_kernel:
            with suppress(OSError):
                os.killpg(pid, signal.SIGKILL) if hasattr(os, "killpg") else os.kill(pid, signal.SIGTERM)


def manager_in(folder: str, live: dict[str, PrivateKernelManager]) -> type[PrivateKernelManager]:
    """The manager class for one kernel in `folder`, whose instance goes into `live`.

    nbclient asks for a class, so the folder is a class attribute.
    """

    class Manager(PrivateKernelManager):
        def __init__(self, **settings: Any) -> None:
            super().__init__(**settings)
            live[folder] = self

    Manager.folder = folder
    return Manager
