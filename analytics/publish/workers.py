"""Workers: reports made side by side on a concurrent.futures.Executor, a bounded number under way at once."""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ThreadPoolExecutor, wait

from analytics.errors import ReportFailed
from analytics.publish.report import Rendered, Report

REPORT_MB = 300
"""Resident memory of one report under way, kernel included, rounded up from what was measured."""


def worker_count(wanted: int | None) -> int:
    """How many reports at once: `wanted`, else as many as cores and free memory allow, at least one."""
    if wanted is not None:
        return max(wanted, 1)
    return max(min(_cores(), _free_mb() // REPORT_MB), 1)


def finished(executor: Executor, reports: Iterator[Report], width: int) -> Iterator[Rendered | ReportFailed]:
    """Every report rendered or failed, in the order they finish, `width` of them under way at once.

    Reports are taken from the iterator only as there is room, so memory does not grow with their number.
    """
    under_way: set[Future[Rendered]] = set()
    while True:
        while len(under_way) < width and (report := next(reports, None)) is not None:
            under_way.add(executor.submit(_render, report))
        if not under_way:
            return
        done, under_way = wait(under_way, return_when=FIRST_COMPLETED)
        for future in done:
            try:
                yield future.result()
            except ReportFailed as problem:
                yield problem


def _render(report: Report) -> Rendered:
    """Renders in the worker: papermill and nbconvert are imported there, and only if there is work."""
    from analytics.publish.render import render

    return render(report)


def local_executor(width: int) -> Executor:
    """Threads of this process: the work itself happens in the kernels, which are processes of their own."""
    return ThreadPoolExecutor(width, thread_name_prefix="report")


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
