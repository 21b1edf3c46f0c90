"""Versions: what every answer and every page is made with, as facts and as one hash."""

from __future__ import annotations

import functools
import hashlib
import importlib.metadata
import platform
from collections.abc import Mapping
from pathlib import Path

_MADE_WITH = (
    "altair",
    "ipykernel",
    "nbconvert",
    "nbformat",
    "numpy",
    "papermill",
    "polars",
    "rapidfuzz",
    "scipy",
    "vl-convert-python",
)
_PACKAGE = Path(__file__).resolve().parent
_NOT_CODE = (".pyc", ".so")


@functools.cache
def versions() -> Mapping[str, str]:
    """Versions of everything an answer or a page is made with, by distribution name."""
    return {
        "python": platform.python_version(),
        "roster-workbook": own_version(),
        **{name: importlib.metadata.version(name) for name in _MADE_WITH},
    }


def own_version() -> str:
    """Version of this package; "source" where it is used without being installed."""
    try:
        return importlib.metadata.version("roster-workbook")
    except importlib.metadata.PackageNotFoundError:
        return "source"


@functools.cache
def code_hash() -> str:
    """A hash of every source and data file of this package."""
    digest = hashlib.sha256()
    for path in sorted(_PACKAGE.rglob("*")):
        if path.is_file() and path.suffix not in _NOT_CODE and path.suffix != ".ipynb":
            digest.update(str(path.relative_to(_PACKAGE)).encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()
