"""Octets: single bytes of a text, counted and checked block by block so that a block stays in the cache."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

RETURN, FEED, QUOTE = 13, 10, 34
_BLOCK = 1 << 18
_STEPS = tuple(np.uint64(step) for step in (1, 2, 4, 8, 16, 32))
_ONE, _LAST = np.uint64(1), np.uint64(63)


def line_ends(utf8: bytes) -> tuple[int, bool]:
    """(how many line feeds there are, whether a carriage return stands anywhere but before one)."""
    octets = np.frombuffer(utf8, dtype=np.uint8)
    feeds = int(np.count_nonzero(octets[:1] == FEED))
    returns, pairs = int(utf8.endswith(b"\r")), 0
    for start in range(0, len(octets) - 1, _BLOCK):
        block = octets[start : start + _BLOCK + 1]
        feed, following = block[1:] == FEED, block[:-1] == RETURN
        feeds += int(np.count_nonzero(feed))
        returns += int(np.count_nonzero(following))
        following &= feed
        pairs += int(np.count_nonzero(following))
    return feeds, returns > pairs


def quotes_at_ends(utf8: bytes, delimiter: str) -> bool:
    """Whether quotes alternate: one that opens a cell, one that closes it, and none stands anywhere else.

    A bit a byte: the running parity of quotes tells whether a byte is inside of a quoted cell.
    """
    inside, after_end = 0, 1
    for block, following in _blocks(utf8):
        quotes = _bits(block == QUOTE)
        ends = _bits((block == ord(delimiter)) | (block == FEED) | (block == RETURN), beyond=True)
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
            if following is None or following in (ord(delimiter), FEED, RETURN):
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


def _blocks(utf8: bytes) -> Iterator[tuple[np.ndarray, int | None]]:
    """The bytes in blocks, each with the byte that follows it; None after the last one."""
    octets = np.frombuffer(utf8, dtype=np.uint8)
    for start in range(0, len(octets), _BLOCK):
        end = start + _BLOCK
        yield octets[start:end], int(octets[end]) if end < len(octets) else None
