"""Workers: reports made side by side, in kernels of this machine or on the workers of a cluster."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from contextlib import contextmanager

from analytics.errors import ReportFailed
from analytics.publish.lean import leave_out
from analytics.publish.report import Rendered, Report
from analytics.workers import cluster, settled, worker_count

REPORT_MB = 300
"""Resident memory of one report under way, kernel included, rounded up from what was measured."""


@contextmanager
def executor(wanted: int | None, most: int, scheduler: str | None) -> Iterator[tuple[Executor, int]]:
    """An executor and how many reports to have under way: threads of this process, or a Dask cluster.

    Threads are enough here: the work itself happens in the kernels, which are processes of their own.
    Raises MissingExtra if a scheduler is named and Dask is not installed, BadCall if it does not answer.
    """
    if scheduler is None:
        width = min(worker_count(wanted, REPORT_MB), most)
        with ThreadPoolExecutor(width, thread_name_prefix="report") as threads:
            try:
                yield threads, width
            except BaseException:
                _abandon(threads)
                raise
        return
    with cluster(scheduler) as (workers, cores):
        yield workers, min(wanted or 2 * cores, most)


def _abandon(threads: Executor) -> None:
    """Ends an interrupted run at once instead of after the reports under way."""
    from analytics.publish.kernels import no_more_kernels

    with no_more_kernels():
        threads.shutdown(wait=True, cancel_futures=True)


def finished(executor: Executor, reports: Iterator[Report], width: int) -> Iterator[Rendered | ReportFailed]:
    """Every report rendered or failed, in the order they finish, `width` of them under way at once."""
    for report, future in settled(executor, _render, lambda: next(reports, None), width):
        try:
            yield future.result()
        except ReportFailed as problem:
            yield problem
        except Exception as problem:  # a worker that dies again and again costs its report only
            yield ReportFailed(report.athlete, -1, f"the worker failed: {type(problem).__name__}: {problem}")


def _render(report: Report) -> Rendered:
    """Renders in the worker: papermill and nbconvert are imported there, and only if there is work."""
    leave_out()
    from analytics.publish.render import render

    return render(report)
