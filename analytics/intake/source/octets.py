"""Octets: single bytes of a text, looked at block by block so that a block stays in the cache."""

from __future__ import annotations

import numpy as np

_RETURN, _FEED = 13, 10
_BLOCK = 1 << 18


def has_lone_return(utf8: bytes) -> bool:
    """Whether a carriage return stands anywhere but before a line feed."""
    if b"\r" not in utf8:
        return False
    octets = np.frombuffer(utf8, dtype=np.uint8)
    room = np.empty((2, _BLOCK), dtype=bool)
    for start in range(0, len(octets) - 1, _BLOCK):
        block = octets[start : start + _BLOCK + 1]
        before, other = room[:, : len(block) - 1]
        np.equal(block[:-1], _RETURN, out=before)
        np.not_equal(block[1:], _FEED, out=other)
        if np.logical_and(before, other, out=before).any():
            return True
    return utf8.endswith(b"\r")
