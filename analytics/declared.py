"""Declared: values that a coach wrote in a TOML file, checked one by one; a mistake names place and cure."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from datetime import date
from typing import Any

from rapidfuzz import fuzz, process

from analytics.errors import BadRoster

_CLOSE = 50
_MOST_NAMED = 40


def parsed(text: str, where: str) -> dict[str, Any]:
    """The TOML as a dictionary.  Raises BadRoster with the line and column of a mistake."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise BadRoster(where, str(problem), "Mend the TOML there and run again") from problem


def known(table: Any, keys: tuple[str, ...], where: str) -> None:
    """A table with no other keys than these; an unknown key is an error that names the nearest known one."""
    if not isinstance(table, dict):
        raise BadRoster(where, f"found {table!r}", "Write a table here")
    for key in table:
        if key not in keys:
            raise BadRoster(where, f"unknown key {key!r}", nearest(key, keys))


def nearest(word: str, choices: tuple[str, ...]) -> str:
    """What was probably meant, as the cure of a message."""
    best = process.extractOne(word, choices, scorer=fuzz.ratio)
    if best and best[1] >= _CLOSE:
        return f"The nearest known one is {best[0]!r}"
    return f"Known ones: {', '.join(sorted(choices)[:_MOST_NAMED])}"


def subtable(raw: Mapping[str, Any], key: str, where: str) -> dict[str, Any]:
    """The table under a key, empty if it is not there."""
    table = raw.get(key, {})
    if not isinstance(table, dict):
        raise BadRoster(f"{where} {key}", f"found {table!r}", f"Write it as a table [{key}]")
    return table


def one_of(value: Any, choices: tuple[str, ...], where: str) -> str:
    """One of the choices."""
    if value not in choices:
        raise BadRoster(where, f"found {value!r}", nearest(str(value), choices))
    return str(value)


def text(value: Any, where: str) -> str:
    """A text that says something."""
    if not isinstance(value, str) or not value.strip():
        raise BadRoster(where, f"found {value!r}", "Write a text in quotes")
    return value


def texts(value: Any, where: str) -> list[str]:
    """A list of texts."""
    if not isinstance(value, list):
        raise BadRoster(where, f"found {value!r}", 'Write a list of texts: ["one", "two"]')
    return [text(item, where) for item in value]


def number(value: Any, where: str, lowest: float, highest: float) -> float:
    """A number within its bounds, both included."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not lowest <= value <= highest:
        raise BadRoster(where, f"found {value!r}", f"Write a number from {lowest:g} to {highest:g}")
    return float(value)


def day(value: Any, where: str) -> date:
    """A date, which TOML writes without quotes."""
    if type(value) is not date:
        raise BadRoster(where, f"found {value!r}", "Write a date without quotes, such as 2027-04-10")
    return value
