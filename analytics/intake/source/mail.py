"""Mail: a log that was sent as the text of a mail, with the signs that quote its lines."""

from __future__ import annotations

import re

_QUOTED = re.compile(rb"(?:>[ \t]?)+")
_FEWEST = 5
_SEARCHED = 2000
"""A quoted log begins within so many bytes."""


def looks_quoted(utf8: bytes) -> bool:
    """Whether some of the first lines begin with such a sign."""
    return utf8.startswith(b">") or b"\n>" in utf8[:_SEARCHED]


def unquoted(utf8: bytes) -> bytes:
    """The text without the signs ``> `` before its lines, where a mail quotes a whole log.

    That is a stretch of at least five quoted or blank lines, more than half of the text: a few lines of a
    diary that begin so may be drops of the set above.
    """
    if not looks_quoted(utf8):
        return utf8
    lines = utf8.split(b"\n")
    quoted = [i for i, line in enumerate(lines) if _QUOTED.match(line)]
    if len(quoted) < _FEWEST or 2 * len(quoted) <= sum(bool(line.strip()) for line in lines):
        return utf8
    first, last = quoted[0], quoted[-1]
    if any(line.strip() for line in set(lines[first : last + 1]) - {lines[i] for i in quoted}):
        return utf8
    return b"\n".join(_QUOTED.sub(b"", line, count=1) if i >= first else line for i, line in enumerate(lines))
