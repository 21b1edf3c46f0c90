"""Marks in a finished page: where the drawing library goes, what the page was made from, a note on top."""

from __future__ import annotations

import html
import re
from pathlib import Path

from analytics.publish.library import source_hash

LIBRARY = "/*<the drawing library>*/"
"""Holds a sign that no escaped text and no JSON on a page can hold, so that no log can forge it."""
LIBRARY_HASH = "'sha256-of-the-drawing-library'"
NOTE = "<!-- note -->"
PLAIN = "<!-- no report -->"
_KEY = re.compile(r'<meta name="report-key" content="([0-9a-f]*)">')
_NOTE = re.compile(re.escape(NOTE) + r'(<p class="note".*?</p>)?', re.DOTALL)
_HEAD_BYTES = 4096


def with_library(text: str, script: str) -> str:
    """The page with the drawing library in its place; a page without charts stays small."""
    if LIBRARY not in text:
        return text.replace(LIBRARY_HASH, "", 1)
    return text.replace(LIBRARY_HASH, source_hash(script), 1).replace(LIBRARY, script, 1)


def key_of(path: Path) -> str:
    """The key in a whole page on disk; empty if there is no such page, or it is cut off or marked old."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES).decode("utf-8", "replace")
            file.seek(max(path.stat().st_size - 16, 0))
            whole = file.read().rstrip().endswith(b"</html>")
    except OSError:
        return ""
    found = _KEY.search(head)
    return found[1] if found and whole else ""


def noted(text: str, note: str) -> str:
    """The page with a visible note on top, and without its key, so that it is rendered anew next time."""
    text = _KEY.sub('<meta name="report-key" content="">', text, count=1)
    mark = f'{NOTE}<p class="note" role="note">{html.escape(note)}</p>'
    return _NOTE.sub(lambda _: mark, text, count=1)


def is_plain(text: str) -> bool:
    """Whether the page holds a note only and no report."""
    return PLAIN in text
