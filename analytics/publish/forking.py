"""Forking: this process's own fork server, started once, and the modules it should have imported."""

from __future__ import annotations

import ast
import atexit
import contextlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterable, Iterator

from analytics.publish.environment import SHORT_TEMP, kernel_environment

STOCK = "stock"
FORKED = "forked"
_lock = threading.Lock()
_servers: dict[tuple[str, ...], ForkServer | None] = {}


def imported_modules(notebooks: Iterable[str]) -> tuple[str, ...]:
    """Modules that the code cells of these notebooks (JSON) import at their top level, by name."""
    found: set[str] = set()
    for notebook in notebooks:
        for cell in json.loads(notebook)["cells"]:
            if cell["cell_type"] != "code":
                continue
            with contextlib.suppress(SyntaxError):  # such a cell fails in its kernel, where it is told
                for node in ast.parse("".join(cell["source"])).body:
                    if isinstance(node, ast.Import):
                        found.update(name.name for name in node.names)
                    elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                        found.add(node.module)
                        found.update(f"{node.module}.{name.name}" for name in node.names)
    return tuple(sorted(found))


class ForkServer:
    """A running fork server; `address` waits for its imports, and is empty if forking is not sound."""

    def __init__(self, modules: tuple[str, ...]) -> None:
        self._folder = tempfile.mkdtemp(prefix="rf-", dir=SHORT_TEMP)
        self._socket = os.path.join(self._folder, "fork")
        self._process = subprocess.Popen(
            [sys.executable, "-m", "analytics.publish.forkserver", self._socket, *modules],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=kernel_environment(),
            cwd=self._folder,
        )
        self._answer: str | None = None
        self._asking = threading.Lock()

    @property
    def address(self) -> str:
        """Path of the socket, or nothing."""
        with self._asking:
            if self._answer is None:
                assert self._process.stdout is not None
                line = self._process.stdout.readline()
                self._answer = json.loads(line)["unsound"] if line else "the fork server did not start"
        alive = self._process.poll() is None
        return self._socket if alive and not self._answer else ""

    def stop(self) -> None:
        """Ends the server and every kernel it made."""
        for end in (self._process.stdin, self._process.stdout):
            if end is not None:
                end.close()
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        shutil.rmtree(self._folder, ignore_errors=True)


def start_server(modules: tuple[str, ...]) -> ForkServer | None:
    """This process's server for these modules, started in the background; None where there is no forking."""
    if sys.platform != "linux" or not hasattr(os, "pidfd_open"):
        return None
    with _lock:
        if modules not in _servers:
            _servers[modules] = ForkServer(modules)
        return _servers[modules]


def stop_servers() -> None:
    """Ends every fork server of this process."""
    with _lock:
        while _servers:
            _, server = _servers.popitem()
            if server is not None:
                server.stop()


@contextlib.contextmanager
def fork_servers() -> Iterator[None]:
    """Fork servers live as long as the block."""
    try:
        yield
    finally:
        stop_servers()


atexit.register(stop_servers)
