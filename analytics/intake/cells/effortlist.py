"""Effort list: RIR or RPE of several sets in one text, such as ``3-2-1`` or ``@8, 8.5, 9``."""

from __future__ import annotations

import re

from analytics.intake.cells.effort import parse_rir, parse_rpe
from analytics.intake.cells.numbers import tidy

_SIGNS = re.compile(r"\s*[/;|]\s*|,\s+|\s*-\s*|(?<=\d),(?=\d)|\s+(?=\d)")
_DECIMALS = re.compile(r"\d,5\b")
_OF_TEN = re.compile(r"\d(?:[.,]\d)?\s*/\s*10")


def effort_list(text: str, field: str) -> tuple[float | None, ...]:
    """Repetitions in reserve of each set of a cell such as ``3-2-1``, ``@8, 8.5, 9``; empty if it is no list.

    Of two numbers ``1-2`` and ``8-9`` are a range, and ``9/10`` is nine of ten.
    """
    words = tidy(text).removeprefix(field).lstrip(" :@")
    if _DECIMALS.search(words):
        words = re.sub(r"(?<=\d),(?=5\b(?!,\d))", ".", words)
    parts = _SIGNS.split(words)
    if len(parts) < 2 or (len(parts) == 2 and not _two(words, parts, field)):
        return ()
    read = parse_rir if field == "rir" else parse_rpe
    found = [read(part.lstrip("@ "), "point") for part in parts]
    if any(value is None and not (problem or "").startswith("is an RPE below") for value, problem in found):
        return ()
    return tuple(value for value, _ in found)


def _two(words: str, parts: list[str], field: str) -> bool:
    if "-" in words:
        return field == "rir" and parts[0] > parts[1]
    return ", " in words or ("/" in words and not _OF_TEN.fullmatch(words))
