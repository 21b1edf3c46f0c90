"""Code page: the alphabet of a text of single bytes that is no UTF-8, by what its bytes would spell."""

from __future__ import annotations

import re

_PAGES = (
    # Superscripts and an opening question mark in code page 1252, which nobody writes inside a word.
    ("cp1250", "code page 1250", re.compile(rb"[A-Za-z][\xb3\xb9\xbf][a-z\xb3\xb9\xbf\xea\xe6\x9c]")),
    # Capitals with a caron behind small letters, daggers in a word, bytes that the page leaves empty, or the
    # ligature of coeur before most consonants.
    (
        "mac_roman",
        "Mac Roman",
        re.compile(
            rb"[a-z][\x8a\x8e\x9f\x81\x8d\x8f\x90\x9d]|[A-Z][\x8a\x8e\x9f\x8d\x8f][a-z]"
            rb"|[a-z][\x87\x88][a-z]|[a-z]\x9c[b-df-hj-np-rv-z]"
        ),
    ),
)
_WESTERN = ("cp1252", "code page 1252")


def codepage(raw: bytes) -> tuple[str, str]:
    """(codec, name for the ledger) of a text that is no UTF-8.

    Code page 1252, unless some bytes inside of words are letters only in that of Central Europe, or in that
    of old Macs.
    """
    return next(((codec, name) for codec, name, inside in _PAGES if inside.search(raw)), _WESTERN)


def spelled(raw: bytes, codec: str) -> str:
    """The text of single bytes; those that code page 1252 leaves empty are as in Latin-1."""
    try:
        return raw.decode(codec)
    except UnicodeDecodeError:
        return raw.decode("latin-1")
