"""Workers: reports made side by side on a concurrent.futures.Executor, a bounded number under way at once."""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from typing import Any

from analytics.errors import BadCall, MissingExtra, ReportFailed
from analytics.publish.report import Rendered, Report

REPORT_MB = 300
"""Resident memory of one report under way, kernel included, rounded up from what was measured."""

_CONNECT_S = 10


def worker_count(wanted: int | None) -> int:
    """How many reports at once: `wanted`, else as many as cores and free memory allow, at least one."""
    if wanted is not None:
        return max(wanted, 1)
    return max(min(_cores(), _free_mb() // REPORT_MB), 1)


@contextmanager
def executor(wanted: int | None, most: int, scheduler: str | None) -> Iterator[tuple[Executor, int]]:
    """An executor and how many reports to have under way: threads of this process, or a Dask cluster.

    Threads are enough here: the work itself happens in the kernels, which are processes of their own.
    Raises MissingExtra if a scheduler is named and Dask is not installed, BadCall if it does not answer.
    """
    if scheduler is None:
        width = min(worker_count(wanted), most)
        with ThreadPoolExecutor(width, thread_name_prefix="report") as threads:
            try:
                yield threads, width
            except BaseException:
                _abandon(threads)
                raise
        return
    with _cluster(scheduler) as client:
        cores = sum(client.nthreads().values())
        yield client.get_executor(pure=False), min(wanted or 2 * max(cores, 1), most)


def _abandon(threads: Executor) -> None:
    """Ends an interrupted run at once instead of after the reports under way."""
    from analytics.publish.kernels import no_more_kernels

    with no_more_kernels():
        threads.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _cluster(scheduler: str) -> Iterator[Any]:
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


def finished(executor: Executor, reports: Iterator[Report], width: int) -> Iterator[Rendered | ReportFailed]:
    """Every report rendered or failed, in the order they finish, `width` of them under way at once.

    Reports are taken from the iterator only as there is room, so memory does not grow with their number.
    """
    under_way: dict[Future[Rendered], str] = {}
    while True:
        while len(under_way) < width and (report := next(reports, None)) is not None:
            under_way[executor.submit(_render, report)] = report.athlete
        if not under_way:
            return
        done, _ = wait(under_way, return_when=FIRST_COMPLETED)
        for future in done:
            athlete = under_way.pop(future)
            try:
                yield future.result()
            except ReportFailed as problem:
                yield problem
            except Exception as problem:  # a worker that dies again and again costs its report only
                yield ReportFailed(athlete, -1, f"the worker failed: {type(problem).__name__}: {problem}")


def _render(report: Report) -> Rendered:
    """Renders in the worker: papermill and nbconvert are imported there, and only if there is work."""
    from analytics.publish.render import render

    return render(report)


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
