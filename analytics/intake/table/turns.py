"""Turns: values of many groups at once, by stretches of rows, or by the first, second, ... of every group."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

_SHORT = 1 << 16


def turns(groups: np.ndarray) -> Iterator[np.ndarray]:
    """Places in `groups` (numbers from 0) of the values whose turn it is.

    The groups come in one order throughout, longer ones first, so that those of a turn are the first ones of
    the turn before.
    """
    if not len(groups):
        return
    small = groups.astype(np.uint16) if groups.max() < _SHORT else groups  # sorted in a tenth of the time
    order = np.argsort(small, kind="stable")
    starts = np.flatnonzero(np.diff(groups[order], prepend=-1))
    sizes = np.diff(starts, append=len(groups))
    longest = np.argsort(-sizes, kind="stable")
    starts, sizes = starts[longest], sizes[longest]
    for turn, groups_left in enumerate(np.searchsorted(-sizes, -np.arange(sizes[0])).tolist()):
        yield order[starts[:groups_left] + turn]


def over_stretches(extreme: np.ufunc, values: np.ndarray, starts: np.ndarray) -> np.ndarray:
    """The extreme of each stretch of numbers from 0 up, compared as bits, which are in the same order."""
    return extreme.reduceat(values.view(np.int64), starts).view(np.float64)
