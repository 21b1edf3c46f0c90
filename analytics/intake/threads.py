"""Threads: steps that do not need each other, side by side where there are many rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

import polars as pl

MANY_ROWS = 100_000
"""With fewer rows a step is over before another thread has begun."""
_T = TypeVar("_T")


def side_by_side(steps: Sequence[Callable[[], _T]], rows: int) -> list[_T]:
    """What each step gives, in their order; on as many threads as Polars may use."""
    threads = min(pl.thread_pool_size(), len(steps))
    if rows < MANY_ROWS or threads < 2:
        return [step() for step in steps]
    with ThreadPoolExecutor(threads) as pool:
        return [future.result() for future in [pool.submit(step) for step in steps]]
