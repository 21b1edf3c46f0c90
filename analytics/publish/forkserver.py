"""The fork server: a process that has only imported, and becomes a Jupyter kernel on request by forking.

Run as ``python -m analytics.publish.forkserver SOCKET MODULE ...`` with one BLAS and one Polars thread.  It
imports the modules and what a scout kernel says is imported later, goes through Altair's validation once,
freezes the garbage collector, and says on its standard output whether forking is sound here.  A request is
one line of JSON (argv, env, cwd, log) on a Unix socket; the answers are ``{"pid": n}``, ``{"bound": true}``
once the kernel listens, and ``{"exit": code}``.  When a connection closes its kernel is killed; when standard
input closes all are, and the server ends.
"""

from __future__ import annotations

import contextlib
import ctypes
import gc
import importlib
import json
import os
import random
import selectors
import shutil
import signal
import socket
import sys
import time
from typing import Any

from analytics.publish.lean import leave_out
from analytics.publish.scout import scouted_modules, validate_once

IDLE_THREADS = ("polars-ooc-clea",)
"""Threads that may be there when forking: Polars' cleaner of spilled frames waits, and none spill."""
_PR_SET_PDEATHSIG = 1


def main(arguments: list[str]) -> int:
    """Serves until standard input closes; exit code 0."""
    address, modules = arguments[0], arguments[1:]
    sys.path[:] = [place for place in sys.path if place not in ("", os.getcwd())]
    leave_out()
    _import(["ipykernel.kernelapp", "ipykernel.ipkernel", "ipykernel.zmqshell", *modules])
    why = _unsound()
    if not why:
        _import(scouted_modules())
        validate_once()
        why = _unsound()
    listener = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    if not why:
        listener.bind(address)
        listener.listen(64)
    gc.collect()
    gc.freeze()
    os.write(1, json.dumps({"unsound": why}).encode() + b"\n")
    if not why:
        _Server(listener).serve()
    shutil.rmtree(os.path.dirname(address), ignore_errors=True)  # made for this server by its caller
    return 0


def _import(modules: list[str]) -> None:
    for module in modules:
        with contextlib.suppress(Exception):  # a module that cannot be imported is told in the notebook
            importlib.import_module(module)


def _unsound() -> str:
    """Why this process must not fork; empty if it may: every other thread is known and sleeps."""
    if sys.platform != "linux":
        return "only Linux tells which threads a process has"
    seen: list[tuple[str, str, str]] = []
    for _ in range(100):
        now = [_thread(int(task)) for task in os.listdir("/proc/self/task") if int(task) != os.getpid()]
        strangers = sorted(name for name, _, _ in now if name not in IDLE_THREADS)
        if strangers:
            return f"importing started threads: {', '.join(strangers)}"
        if now == seen and all(state == "S" for _, state, _ in now):
            return ""
        seen = now
        time.sleep(0.01)
    return "a thread does not come to rest"


def _thread(task: int) -> tuple[str, str, str]:
    """Name, state, and number of times a thread has gone to sleep."""
    with open(f"/proc/self/task/{task}/status", encoding="ascii", errors="replace") as file:
        lines = dict(line.split(":", 1) for line in file)
    return lines["Name"].strip(), lines["State"].split()[0], lines["voluntary_ctxt_switches"].strip()


class _Server:
    """One listening socket, one connection and one process descriptor for each kernel."""

    def __init__(self, listener: socket.socket) -> None:
        self.selector = selectors.DefaultSelector()
        self.listener = listener
        self.kernels: dict[socket.socket, tuple[int, int]] = {}
        self.selector.register(listener, selectors.EVENT_READ, None)
        self.selector.register(0, selectors.EVENT_READ, None)

    def serve(self) -> None:
        """Handles requests and exits of kernels until standard input closes."""
        while True:
            for key, _ in self.selector.select():
                if key.fileobj == 0:
                    if not os.read(0, 4096):
                        for connection in list(self.kernels):
                            self._end(connection)
                        return
                elif key.fileobj is self.listener:
                    connection = self.listener.accept()[0]
                    self.selector.register(connection, selectors.EVENT_READ, None)
                elif isinstance(key.fileobj, socket.socket):
                    self._heard(key.fileobj)
                else:
                    self._exited(key.data)

    def _heard(self, connection: socket.socket) -> None:
        if connection in self.kernels:  # the caller sends one request only: this is the end of the connection
            self._end(connection)
            return
        connection.settimeout(10)
        line = connection.makefile("r", encoding="utf-8").readline()
        if not line:
            self.selector.unregister(connection)
            connection.close()
            return
        pid = os.fork()
        if pid == 0:
            _become_kernel(self, connection, json.loads(line))
        watch = os.pidfd_open(pid)
        self.kernels[connection] = (pid, watch)
        self.selector.register(watch, selectors.EVENT_READ, connection)
        _tell(connection, {"pid": pid})

    def _exited(self, connection: socket.socket) -> None:
        """Tells the exit; the process is reaped with the connection, so its number stays taken till then."""
        pid, watch = self.kernels[connection]
        self.selector.unregister(watch)
        ended = os.waitid(os.P_PID, pid, os.WEXITED | os.WNOWAIT)
        code = (
            ended.si_status
            if ended and ended.si_code == os.CLD_EXITED
            else -(ended.si_status if ended else 9)
        )
        _tell(connection, {"exit": code})

    def _end(self, connection: socket.socket) -> None:
        pid, watch = self.kernels.pop(connection)
        with contextlib.suppress(ProcessLookupError):
            os.killpg(pid, signal.SIGKILL)
        with contextlib.suppress(ProcessLookupError):
            os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        with contextlib.suppress(KeyError):
            self.selector.unregister(watch)
        os.close(watch)
        self.selector.unregister(connection)
        connection.close()


def _tell(connection: socket.socket, message: dict[str, Any]) -> None:
    with contextlib.suppress(OSError):
        connection.sendall(json.dumps(message).encode() + b"\n")


def _become_kernel(server: _Server, connection: socket.socket, request: dict[str, Any]) -> None:
    """In the child: own session, environment, folder, signals; then the kernel.  Never returns."""
    code = 1
    try:
        os.setsid()
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
        _leave(server, connection)
        _start_afresh(request)
        code = _run_kernel(connection, request["argv"])
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        import traceback

        traceback.print_exc()
    finally:
        with contextlib.suppress(Exception):
            sys.stderr.flush()
        os._exit(code)


def _leave(server: _Server, connection: socket.socket) -> None:
    server.selector.close()
    server.listener.close()
    for other, (_, watch) in server.kernels.items():
        other.close()
        os.close(watch)
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGCHLD, signal.SIGHUP):
        signal.signal(number, signal.default_int_handler if number == signal.SIGINT else signal.SIG_DFL)


def _start_afresh(request: dict[str, Any]) -> None:
    nothing = os.open(os.devnull, os.O_RDWR)
    log = os.open(request["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    for descriptor, target in ((nothing, 0), (log, 1), (log, 2)):
        os.dup2(descriptor, target)
    os.environ.clear()
    os.environ.update(request["env"])
    os.chdir(request["cwd"])
    sys.argv = ["ipykernel_launcher", *request["argv"]]
    random.seed()
    if "numpy.random" in sys.modules:
        sys.modules["numpy.random"].seed()
    gc.enable()


def _run_kernel(connection: socket.socket, argv: list[str]) -> int:
    from ipykernel.kernelapp import IPKernelApp

    app = IPKernelApp.instance()
    app.initialize(argv)
    _tell(connection, {"bound": True})
    connection.close()
    app.start()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
