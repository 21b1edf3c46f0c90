"""Threads: steps that do not need each other, side by side where there are many rows.

The threads stay, because what one of them gave back of its memory, only it takes again without new pages.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from functools import cache, partial
from itertools import islice
from typing import TypeVar

import polars as pl

MANY_ROWS = 100_000
"""With fewer rows a step is over before another thread has begun."""
_T = TypeVar("_T")
_THREAD = threading.local()


def side_by_side(steps: Sequence[Callable[[], _T]], rows: int) -> list[_T]:
    """What each step gives, in their order; on as many threads as Polars may use."""
    if rows < MANY_ROWS or len(steps) < 2 or pl.thread_pool_size() < 2 or _is_one_of_many():
        return [step() for step in steps]
    pool = _pool(_depth())
    return [future.result() for future in [pool.submit(step) for step in steps]]


def ahead(steps: Iterable[Callable[[], _T]]) -> Iterator[_T]:
    """What each step gives, in their order; the first begin now, others ahead of the one that is asked for.

    As many steps run at a time as Polars may use threads; what a step does stays in its thread.
    """
    pool = _pool(_depth())
    waiting = (pool.submit(partial(_alone, step)) for step in steps)
    return _in_order(deque(islice(waiting, pl.thread_pool_size() + 1)), waiting)


def _in_order(begun: deque[Future[_T]], others: Iterator[Future[_T]]) -> Iterator[_T]:
    try:
        while begun:
            done = begun.popleft().result()
            begun.extend(islice(others, 1))
            yield done
    finally:
        for future in begun:
            future.cancel()


def _alone(step: Callable[[], _T]) -> _T:
    _THREAD.one_of_many = True
    try:
        return step()
    finally:
        _THREAD.one_of_many = False


def _is_one_of_many() -> bool:
    return getattr(_THREAD, "one_of_many", False)


def _depth() -> int:
    """0 outside of all pools, else one more than that of the pool this thread is of."""
    return getattr(_THREAD, "depth", 0)


@cache
def _pool(depth: int) -> ThreadPoolExecutor:
    """The threads for steps of one depth: a step that waits for others must not take their place."""
    return ThreadPoolExecutor(pl.thread_pool_size(), initializer=_deepen, initargs=(depth + 1,))


def _deepen(depth: int) -> None:
    _THREAD.depth = depth


os.register_at_fork(after_in_child=_pool.cache_clear)
