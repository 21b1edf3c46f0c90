"""Mangled: letters that another program read as single bytes and saved again, ``Ã¼`` for ``ü``."""

from __future__ import annotations

import re
from functools import partial

_PAGES = (
    ("cp1252", "code page 1252", "ÃÂÅâï"),
    ("mac_roman", "Mac Roman", "√¬≈‚"),
    ("cp850", "code page 850", "├┬┼Ô´"),
    ("latin_1", "Latin-1", "ÃÂÅâ"),
)
"""What opens Western letters, signs such as the dash, and the mark of UTF-8, in a page."""
_MOST_TIMES = 3
_SAMPLE = 65_536
_STRAY = re.compile(r"Â(?=[\s;,|]|$)")
"""What is left of a hard space that became a plain one."""


def looks_mangled(utf8: bytes) -> bool:
    """Whether the beginning of a text holds such letters."""
    sample = utf8[:_SAMPLE].decode(errors="ignore")
    return unmangled(sample)[1] is not None


def unmangled(text: str) -> tuple[str, str | None]:
    """(the text as it was written, the name of the code page it had been read in; None where it was not).

    Only signs that open such a letter, and those behind them that spell UTF-8 with them, are changed; it may
    have happened to a text more than once.
    """
    found = None
    for codec, (name, opening, letters) in _LETTERS.items():
        for _ in range(_MOST_TIMES if any(sign in text for sign in opening) else 0):
            before, text = text, letters.sub(partial(_written, codec), text)
            if text == before:
                break
            found = name
    return _STRAY.sub("", text) if found else text, found


def _written(codec: str, run: re.Match[str]) -> str:
    """What the signs of a run spell in UTF-8, as far as they do; else the run as it is."""
    for length in range(len(run[0]), 1, -1):
        try:
            return b"".join(_byte(sign, codec) for sign in run[0][:length]).decode() + run[0][length:]
        except UnicodeError:
            continue
    return run[0]


def _sign(byte: int, codec: str) -> str:
    """The sign of one byte; of those that code page 1252 leaves empty as in Latin-1."""
    try:
        return bytes([byte]).decode(codec)
    except UnicodeDecodeError:
        return chr(byte)


def _byte(sign: str, codec: str) -> bytes:
    try:
        return sign.encode(codec)
    except UnicodeEncodeError:
        return sign.encode("latin-1")


def _letters(codec: str, opening: str) -> re.Pattern[str]:
    rest = "".join(_sign(byte, codec) for byte in range(0x80, 0xC0))
    return re.compile(f"[{opening}][{re.escape(rest)}]{{1,2}}")


_LETTERS = {codec: (name, opening, _letters(codec, opening)) for codec, name, opening in _PAGES}
