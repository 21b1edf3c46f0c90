"""Workers: calls made side by side on a concurrent.futures.Executor, a bounded number under way at once."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from typing import Any, TypeVar

from analytics.errors import BadCall, MissingExtra

ONE_THREAD = {
    "POLARS_MAX_THREADS": "1",
    "RAYON_NUM_THREADS": "1",
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
    "MKL_NUM_THREADS": "1",
    "VECLIB_MAXIMUM_THREADS": "1",
    "_RJEM_MALLOC_CONF": "background_thread:false",  # of Polars
    "JE_ARROW_MALLOC_CONF": "background_thread:false",  # of PyArrow
}
"""Environment of a process beside others: one thread for numerics."""

_CONNECT_S = 10

Call = TypeVar("Call")
Answer = TypeVar("Answer")


def worker_count(wanted: int | None, need_mb: int) -> int:
    """How many workers: `wanted`, else as many as cores and free memory allow, at least one."""
    if wanted is not None:
        return max(wanted, 1)
    return max(min(_cores(), _free_mb() // need_mb), 1)


@contextmanager
def processes(width: int) -> Iterator[Executor]:
    """Fresh processes of one thread each; an interrupted run ends with the calls under way."""
    before = {name: os.environ.get(name) for name in ONE_THREAD}
    # A process reads these once, as it starts; it starts with the first call that finds no idle one.
    os.environ.update(ONE_THREAD)
    pool = ProcessPoolExecutor(width, mp_context=multiprocessing.get_context("spawn"))
    try:
        yield pool
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


@contextmanager
def cluster(scheduler: str) -> Iterator[tuple[Executor, int]]:
    """The workers of a Dask scheduler and the number of their cores.

    Raises MissingExtra if Dask is not installed, BadCall if no scheduler answers.
    """
    with _client(scheduler) as client:
        yield client.get_executor(pure=False), max(sum(client.nthreads().values()), 1)


@contextmanager
def _client(scheduler: str) -> Iterator[Any]:
    try:
        from distributed import Client
    except ImportError as missing:
        cure = "pip install 'roster-workbook[cluster]'"
        raise MissingExtra(f"a scheduler needs Dask, which is not installed: {cure}") from missing
    try:
        client = Client(scheduler, timeout=_CONNECT_S, set_as_default=False)
    except (OSError, ValueError) as problem:
        raise BadCall(f"no scheduler answers at {scheduler}: start one with 'dask scheduler'") from problem
    with client:
        yield client


def settled(
    executor: Executor, make: Callable[[Call], Answer], take: Callable[[], Call | None], width: int
) -> Iterator[tuple[Call, Future[Answer]]]:
    """Every call with its finished future, in the order they finish, `width` of them under way at once.

    `take` gives the next call, or None while there is none.  Calls are taken only as there is room, so memory
    does not grow with their number; and again after each answer, so an answer may give cause for more.
    """
    under_way: dict[Future[Answer], Call] = {}
    while True:
        while len(under_way) < width and (call := take()) is not None:
            under_way[executor.submit(make, call)] = call
        if not under_way:
            return
        done, _ = wait(under_way, return_when=FIRST_COMPLETED)
        for future in done:
            yield under_way.pop(future), future


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _free_mb() -> int:
    try:
        with open("/proc/meminfo", encoding="ascii") as file:
            for line in file:
                if line.startswith("MemAvailable:"):
                    return int(line.split()[1]) // 1024
    except OSError:
        pass
    return 4096
