"""Plain spelling: lower case without accents, for comparing words of a header, a role or a side."""

from __future__ import annotations

import unicodedata


def plain(text: str) -> str:
    """`text` in lower case, accents dropped, apostrophes and dots turned to spaces, spaces collapsed."""
    if not text.isascii():
        split = unicodedata.normalize("NFKD", text.replace("ß", "ss"))
        text = "".join(c for c in split if not unicodedata.combining(c))
    return " ".join(text.lower().replace("'", " ").replace(".", " ").split())
