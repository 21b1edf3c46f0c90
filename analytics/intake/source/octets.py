"""Octets: single bytes of a text, counted and checked block by block so that a block stays in the cache."""

from __future__ import annotations

import numpy as np

RETURN, FEED, QUOTE = 13, 10, 34
_BLOCK = 1 << 19
_STEPS = tuple(np.uint64(step) for step in (1, 2, 4, 8, 16, 32))
_ONE, _LAST = np.uint64(1), np.uint64(63)


def line_ends(utf8: bytes) -> tuple[int, bool]:
    """(how many line feeds there are, whether a carriage return stands anywhere but before one)."""
    octets = np.frombuffer(utf8, dtype=np.uint8)
    feeds = int(np.count_nonzero(octets[:1] == FEED))
    returns, pairs = int(utf8.endswith(b"\r")), 0
    room = np.empty((2, _BLOCK), dtype=bool)
    for start in range(0, len(octets) - 1, _BLOCK):
        block = octets[start : start + _BLOCK + 1]
        feed, before = room[:, : len(block) - 1]
        feeds += int(np.count_nonzero(np.equal(block[1:], FEED, out=feed)))
        returns += int(np.count_nonzero(np.equal(block[:-1], RETURN, out=before)))
        pairs += int(np.count_nonzero(np.logical_and(feed, before, out=before)))
    return feeds, returns > pairs


def quotes_at_ends(utf8: bytes, delimiter: str) -> bool:
    """Whether quotes alternate: one that opens a cell, one that closes it, and none stands anywhere else.

    A bit a byte: the running parity of quotes tells whether a byte is inside of a quoted cell.
    """
    octets = np.frombuffer(utf8, dtype=np.uint8)
    room = np.empty((2, _BLOCK), dtype=bool)
    signs = (ord(delimiter), FEED, RETURN)
    inside, after_end = 0, 1
    for start in range(0, len(octets), _BLOCK):
        block = octets[start : start + _BLOCK]
        flags, others = room[:, : len(block)]
        quotes = _bits(np.equal(block, QUOTE, out=flags))
        np.equal(block, signs[0], out=flags)
        for sign in signs[1:]:
            np.logical_or(flags, np.equal(block, sign, out=others), out=flags)
        ends = _bits(flags, beyond=True)
        if quotes.any():
            opened = quotes.copy()
            for step in _STEPS:
                opened ^= opened << step
            odd = np.bitwise_count(quotes) & 1
            before = (np.cumsum(odd, dtype=np.uint64) - odd + np.uint64(inside)) & _ONE
            opened ^= np.uint64(0) - before
            end_before, end_after = (ends << _ONE), (ends >> _ONE)
            end_before[0] |= np.uint64(after_end)
            end_before[1:] |= ends[:-1] >> _LAST
            end_after[:-1] |= ends[1:] << _LAST
            following = start + _BLOCK
            if following >= len(octets) or octets[following] in signs:
                end_after[-1] |= _ONE << _LAST
            if (quotes & ((opened & ~end_before) | ~(opened | end_after))).any():
                return False
            inside = (inside + int(odd.sum())) & 1
        after_end = int(ends[-1] >> _LAST)
    return not inside


def _bits(flags: np.ndarray, *, beyond: bool = False) -> np.ndarray:
    """One bit a flag in words of 64, the first one lowest; `beyond` fills up the last word."""
    if len(flags) % 64:
        flags = np.concatenate([flags, np.full(-len(flags) % 64, beyond)])
    return np.packbits(flags, bitorder="little").view("<u8").astype(np.uint64, copy=False)
