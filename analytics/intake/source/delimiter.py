"""Delimiter: the sign that parts the cells of a text, and how many of them a line has."""

from __future__ import annotations

import re

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_QUOTED, _BETWEEN_DIGITS = re.compile(r'"[^"\n]*"'), re.compile(r"\d,\d")


def find_delimiter(head: str) -> str:
    """The delimiter that splits the first lines most evenly, and best the first line that is split at all.

    A comma that only ever stands between digits is a decimal mark, and loses to any other candidate.
    """
    declared = re.match(r'\s*"?sep=(.)"?\s*\n', head, re.IGNORECASE)
    if declared and declared[1] in DELIMITERS:
        return declared[1]
    lines = [_unquoted(line) for line in head.splitlines()[:200] if line.strip()]
    counts_of = {mark: [line.count(mark) for line in lines] for mark in DELIMITERS}
    if any(sum(n > 0 for n in counts_of[mark]) > 0.5 * len(lines) for mark in ";\t|"):
        between = [len(_BETWEEN_DIGITS.findall(line)) for line in lines]
        counts_of[","] = [n - k for n, k in zip(counts_of[","], between, strict=True)]
    first = next((i for i, marks in enumerate(zip(*counts_of.values(), strict=True)) if any(marks)), 0)
    best, best_score = ",", 0.0
    for mark in (";", "\t", "|", ","):
        counts = counts_of[mark]
        filled = [n for n in counts if n > 0]
        if not filled:
            continue
        common = max(set(filled), key=lambda n: (filled.count(n), n))
        score = filled.count(common) / len(lines) * min(common, 6) ** 0.5 + 0.001 * (mark != ",")
        if not counts[first]:
            score *= 0.5  # the header has none: it may part the sets of a cell
        if score > best_score:
            best, best_score = mark, score
    return best


def widths(text: str, delimiter: str) -> list[int]:
    """How many cells each line has."""
    lines = _unquoted(text).split("\n")
    return [1 + line.count(delimiter) for line in (lines if lines[-1] else lines[:-1])]


def _unquoted(text: str) -> str:
    """The text without its quoted cells; a quote without its partner in the same line stays."""
    return _QUOTED.sub("", text) if '"' in text else text
