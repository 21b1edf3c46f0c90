"""Crew: who judges the parts of a roster, on this machine or on many."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from analytics.judging.part import Done, Part, judge_to_bytes, judge_to_files, packed
from analytics.workers import cluster, processes, worker_count

PART_MB = 700
"""Resident memory of one process with a part under way, rounded up from what was measured."""


@dataclass(frozen=True, kw_only=True)
class Crew:
    """An `executor`, the call to `make` there, how many at once, and what a part looks like on its way."""

    executor: Executor
    make: Callable[[Part], Done]
    width: int
    outbound: Callable[[Part], Part] = lambda part: part


@contextmanager
def crew(alone: bool, workers: int | None, scheduler: str | None, scratch: Path) -> Iterator[Crew]:
    """This process `alone`, a Dask cluster where a scheduler is named, else processes of this machine.

    Raises MissingExtra and BadCall as ``workers.cluster`` does.
    """
    if alone:
        yield Crew(executor=_Here(), make=partial(judge_to_files, scratch=scratch), width=1)
    elif scheduler is not None:
        with cluster(scheduler) as (executor, cores):
            yield Crew(executor=executor, make=judge_to_bytes, width=workers or 2 * cores, outbound=packed)
    else:
        width = worker_count(workers, PART_MB)
        with processes(width) as pool:
            yield Crew(executor=pool, make=partial(judge_to_files, scratch=scratch), width=width)


class _Here(Executor):
    """Makes each call at once, in this process."""

    def submit(self, make: Callable[..., Any], /, *values: Any, **named: Any) -> Future[Any]:
        future: Future[Any] = Future()
        try:
            future.set_result(make(*values, **named))
        except Exception as problem:  # handed back, as by any other executor
            future.set_exception(problem)
        return future
