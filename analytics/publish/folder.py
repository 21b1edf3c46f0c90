"""The week's folder: written beside the old one and moved into place whole.

::

    reports/.2026-W47.<token>.lock   held while a run lives; a run whose lock is free is dead
    reports/.2026-W47.<token>.new/   the run's draft
    reports/.2026-W47.<token>.old/   the old week, for the moment of the swap
"""

from __future__ import annotations

import os
import re
import secrets
import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

_LOCK = re.compile(r"\.(?P<week>.+)\.(?P<token>[0-9a-f]{16})\.lock")
_SWAP_WAIT_S = 60.0


@contextmanager
def draft(out: Path, week: str) -> Iterator[Path]:
    """An empty folder beside ``out/week``; it takes that place when the block ends without an error.

    Leftovers of dead runs are mended first: a week lost in the middle of a swap comes back, drafts go.
    """
    out.mkdir(parents=True, exist_ok=True)
    _mend(out)
    lock = None
    while lock is None:  # another run may mend a fresh lock before it is held: then it counts as a dead run's
        stem = f".{week}.{secrets.token_hex(8)}"
        lock = _held(out / f"{stem}.lock")
    new, old = out / f"{stem}.new", out / f"{stem}.old"
    try:
        new.mkdir()
        yield new
        with _alone(out):
            _swap(new, out / week, old)
    finally:
        # Never looked at here: whether the week is there, for another run may be in the middle of its swap.
        for rest in (new, old):
            shutil.rmtree(rest, ignore_errors=True)
        _let_go(lock, out / f"{stem}.lock")


def _swap(new: Path, week: Path, old: Path) -> None:
    """The draft in the week's place; where that fails, the old week is put back."""
    if not week.exists():
        os.rename(new, week)
        return
    os.rename(week, old)
    try:
        os.rename(new, week)
    except BaseException:  # an interrupt too must not cost the old week
        os.rename(old, week)
        raise


def _mend(out: Path) -> None:
    for path in sorted(out.iterdir()):
        name = _LOCK.fullmatch(path.name)
        if name is None:
            continue
        lock = _held(path)
        if lock is None:
            continue
        stem, week = path.name.removesuffix(".lock"), out / name["week"]
        with _alone(out):
            if (out / f"{stem}.old").exists() and not week.exists():
                os.rename(out / f"{stem}.old", week)
        for rest in ("new", "old"):
            shutil.rmtree(out / f"{stem}.{rest}", ignore_errors=True)
        _let_go(lock, path)


@contextmanager
def _alone(out: Path) -> Iterator[None]:
    """No other run swaps or mends in `out` meanwhile."""
    path, end = out / ".swap.lock", time.monotonic() + _SWAP_WAIT_S
    while (lock := _held(path)) is None:
        if time.monotonic() > end:
            raise TimeoutError(f"{path}: held by another run for {_SWAP_WAIT_S:g} s. End that one")
        time.sleep(0.02)
    try:
        yield
    finally:
        _let_go(lock, path)


def _held(path: Path) -> IO[bytes] | None:
    """The file locked for this process; None if another process holds it."""
    file = path.open("ab")
    try:
        _lock(file)
        if os.stat(path).st_ino == os.fstat(file.fileno()).st_ino:
            return file
    except OSError:
        pass
    file.close()
    return None


def _let_go(lock: IO[bytes], path: Path) -> None:
    path.unlink(missing_ok=True)
    lock.close()


if sys.platform == "win32":
    import msvcrt

    def _lock(file: IO[bytes]) -> None:
        msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _lock(file: IO[bytes]) -> None:
        fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
