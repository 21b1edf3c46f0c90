"""The provisioner of forked kernels: Jupyter's door to the fork server."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
import socket
from typing import Any

from jupyter_client.provisioning import LocalProvisioner
from traitlets import Unicode

_POLL_S = 0.002
_BIND_S = 60.0


class ForkUnavailable(RuntimeError):
    """The fork server did not give a kernel; a stock one may still do."""


class ForkedKernel(LocalProvisioner):
    """One kernel forked by the server that listens at `address`."""

    address = Unicode(help="path of the fork server's socket").tag(config=True)

    pid: int | None = None
    pgid: int | None = None
    _line: socket.socket | None = None
    _heard = b""
    _exit: int | None = None

    @property
    def has_process(self) -> bool:
        """Whether there is a kernel whose end has not been seen."""
        return self._line is not None

    async def launch_kernel(self, cmd: list[str], **kwargs: Any) -> Any:
        """Asks for a kernel and waits until it listens."""
        request = {
            "argv": cmd[cmd.index("-f") :],
            "env": kwargs["env"],
            "cwd": str(kwargs["cwd"]),
            "log": os.path.join(str(kwargs["cwd"]), "log"),
        }
        self._exit, self._heard = None, b""
        line = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        self._line = line
        try:
            line.connect(self.address)
            line.sendall(json.dumps(request).encode() + b"\n")
            line.setblocking(False)
            await asyncio.wait_for(self._bound(), _BIND_S)
        except (OSError, TimeoutError) as problem:
            self._hang_up()
            raise ForkUnavailable(f"no kernel from the fork server: {problem}") from problem
        self.cwd = kwargs["cwd"]
        return self.connection_info

    async def _bound(self) -> None:
        loop = asyncio.get_running_loop()
        assert self._line is not None
        while True:
            received = await loop.sock_recv(self._line, 4096)
            if not received:
                raise ForkUnavailable("the fork server ended")
            if self._take(received):
                return
            if self._exit is not None:
                raise ForkUnavailable(f"the forked kernel ended at once with code {self._exit}")

    def _take(self, received: bytes) -> bool:
        """Takes in what the server said; whether it said that the kernel listens."""
        *lines, self._heard = (self._heard + received).split(b"\n")
        bound = False
        for message in map(json.loads, lines):
            self.pid = message.get("pid", self.pid)
            self.pgid = self.pid
            self._exit = message.get("exit", self._exit)
            bound = bound or "bound" in message
        return bound

    async def poll(self) -> int | None:
        """None while the kernel lives, else its exit code (negative: the signal that ended it)."""
        if self._line is not None and self._exit is None:
            with contextlib.suppress(BlockingIOError):
                received = self._line.recv(4096)
                if received:
                    self._take(received)
                else:
                    self._exit = -int(signal.SIGKILL)
        return 0 if self._line is None else self._exit

    async def wait(self) -> int | None:
        """Waits for the end of the kernel and lets the server forget it."""
        while (code := await self.poll()) is None:
            await asyncio.sleep(_POLL_S)
        self._hang_up()
        return code

    async def send_signal(self, signum: int) -> None:
        """Sends a signal to the kernel and all its children."""
        if await self.poll() is None and self.pid is not None:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(self.pid, signum)

    async def kill(self, restart: bool = False) -> None:
        """Ends the kernel now and waits until it has ended."""
        if self._line is not None:
            await self.send_signal(signal.SIGKILL)
            await self.wait()

    async def terminate(self, restart: bool = False) -> None:
        """Asks the kernel to end."""
        await self.send_signal(signal.SIGTERM)

    async def cleanup(self, restart: bool = False) -> None:
        """Closes the connection; a kernel that still lives is ended by the server."""
        self._hang_up()

    def _hang_up(self) -> None:
        if self._line is not None:
            self._line.close()
            self._line = None
