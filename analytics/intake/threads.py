"""Threads: steps that do not need each other, side by side where there are many rows."""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from itertools import islice
from typing import TypeVar

import polars as pl

MANY_ROWS = 100_000
"""With fewer rows a step is over before another thread has begun."""
_T = TypeVar("_T")
_THREAD = threading.local()


def side_by_side(steps: Sequence[Callable[[], _T]], rows: int) -> list[_T]:
    """What each step gives, in their order; on as many threads as Polars may use."""
    threads = min(pl.thread_pool_size(), len(steps))
    if rows < MANY_ROWS or threads < 2 or getattr(_THREAD, "one_of_many", False):
        return [step() for step in steps]
    with ThreadPoolExecutor(threads) as pool:
        return [future.result() for future in [pool.submit(step) for step in steps]]


def ahead(steps: Iterable[Callable[[], _T]]) -> Iterator[_T]:
    """What each step gives, in their order; the first begin now, others ahead of the one that is asked for.

    As many steps run at a time as Polars may use threads; what a step does stays in its thread.
    """
    threads = pl.thread_pool_size()
    pool = ThreadPoolExecutor(threads, initializer=_alone)
    waiting = (pool.submit(step) for step in steps)
    return _in_order(pool, deque(islice(waiting, threads + 1)), waiting)


def _in_order(
    pool: ThreadPoolExecutor, begun: deque[Future[_T]], others: Iterator[Future[_T]]
) -> Iterator[_T]:
    with pool:
        while begun:
            done = begun.popleft().result()
            begun.extend(islice(others, 1))
            yield done


def _alone() -> None:
    _THREAD.one_of_many = True
