"""Folder: the files of a roster folder and whose they are; no other module of this room touches the disk."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

from analytics.errors import BadExport, BadRoster
from analytics.roster import Roster

LARGEST_FILE = 4 << 30


@dataclass(frozen=True, kw_only=True)
class Source:
    """One file of the roster folder `root`: `name` in it with forward slashes, and `athlete` by its place.

    `carried` is what its bytes are, or why there are none, where the file travels to another machine.
    """

    root: Path
    path: Path
    name: str
    athlete: str | None
    carried: bytes | BadExport | None = None


def read_text(folder: Path, name: str) -> str | None:
    """The UTF-8 text of a settings file, None if there is none; BadRoster where it cannot be read."""
    path = folder / name
    try:
        return path.read_text(encoding="utf-8-sig") if path.is_file() else None
    except (OSError, UnicodeDecodeError) as problem:
        raise BadRoster(name, f"cannot be read: {problem}", "Save it as UTF-8 text") from problem


@contextmanager
def opened(source: Source) -> Iterator[BinaryIO]:
    """The bytes of one file, to be read; BadExport where the system refuses."""
    if isinstance(source.carried, BadExport):
        raise source.carried
    if source.carried is not None:
        yield BytesIO(source.carried)
        return
    try:
        if not source.path.resolve().is_relative_to(source.root.resolve()):
            raise BadExport(
                source.name, 1, "it is a link to a place outside the roster folder", "Copy the file itself"
            )
        if source.path.stat().st_size > LARGEST_FILE:
            raise BadExport(source.name, 1, "the file is larger than 4 GB", "Export a shorter time span")
        with source.path.open("rb") as file:
            yield file
    except OSError as problem:
        reason = problem.strerror or "unknown reason"
        raise BadExport(
            source.name, 1, f"the file cannot be opened ({reason})", "Check its permissions"
        ) from problem


def read_bytes(source: Source) -> bytes:
    """The bytes of one file; BadExport where the system refuses."""
    with opened(source) as file:
        return file.read()


def carry(source: Source) -> Source:
    """The source with its bytes."""
    try:
        return replace(source, carried=read_bytes(source))
    except BadExport as problem:
        return replace(source, carried=problem)


def count_lines(source: Source) -> int:
    """Lines of a file that was refused; 0 where it cannot be opened."""
    try:
        raw = read_bytes(source)
    except BadExport:
        return 0
    return raw.count(b"\n") + (0 if not raw or raw.endswith(b"\n") else 1)


def list_sources(folder: Path, place: str, roster: Roster) -> list[Source]:
    """Files under ``exports`` or ``checkins``, sorted by name.

    ``exports/<id>/...`` and ``checkins/<id>.csv`` say whose they are; in other places the file
    must.  Hidden files and links that leave the folder are left out; a link to a folder is not followed.
    """
    root = folder / place
    if not root.is_dir():
        return []
    ids = roster.ids
    sources = []
    for path in _walk(root):
        inside = path.relative_to(root)
        first = inside.parts[0] if len(inside.parts) > 1 else inside.stem
        shown = os.fsencode(inside.as_posix()).decode("utf-8", "backslashreplace")
        name = f"{place}/{shown}"
        sources.append(Source(root=folder, path=path, name=name, athlete=ids.get(first.lower())))
    return sorted(sources, key=lambda source: source.name)


def _walk(root: Path) -> list[Path]:
    found: list[Path] = []
    for path in sorted(root.iterdir()):
        if path.name.startswith((".", "~$")) or path.name in ("Thumbs.db", "desktop.ini", "__MACOSX"):
            continue
        if path.is_dir():
            if not path.is_symlink():
                found.extend(_walk(path))
        elif path.is_file():
            found.append(path)
    return found
