"""Vocabulary: the words of this room's data files, read once: column names, roles, sides, yes and no."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources


@cache
def column_names(kind: str) -> Mapping[str, tuple[str, ...]]:
    """Field to its column names in seven languages; `kind` is ``sets`` or ``checkins``."""
    return {field: tuple(names) for field, names in _table("columns.toml")[kind].items()}


@cache
def spare_names() -> frozenset[str]:
    """Column names that are known to say neither a load nor repetitions, such as ``volume`` or ``tempo``."""
    return frozenset(name for names in _table("columns.toml")["spare"].values() for name in names)


@cache
def meanings(kind: str) -> Mapping[str, str]:
    """Word (lower case, no accents) to meaning; `kind` is a table of ``words.toml``, such as ``role``."""
    return {word: meaning for meaning, words in _table("words.toml")[kind].items() for word in words}


@cache
def _table(file: str) -> Mapping[str, Mapping[str, list[str]]]:
    text = resources.files("analytics.intake.cells").joinpath(file).read_text(encoding="utf-8")
    return tomllib.loads(text)
