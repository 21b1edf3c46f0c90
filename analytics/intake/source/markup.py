"""Markup: what a table copied from a web page keeps of it, bold letters and ``&nbsp;``, made plain text."""

from __future__ import annotations

import html
import re

_ENTITY = re.compile(rb"&(?:#\d{1,6}|#x[0-9a-fA-F]{1,5}|[A-Za-z]{2,8}\d{0,2});")
_TAG = re.compile(
    rb"</?(?:table|tbody|b|i|u|em|strong|span|font|p|div|a|small|nobr|center)(?:\s[^<>\n]*)?>", re.IGNORECASE
)
_BREAK = re.compile(rb"<br\s*/?>", re.IGNORECASE)
_KEPT = frozenset(',;|"\t\r\n\0')
"""Signs that would part cells or lines: their entities stay."""


def has_markup(utf8: bytes) -> bool:
    """Whether `without_markup` may change the text."""
    return (b"&" in utf8 and bool(_ENTITY.search(utf8))) or (b"<" in utf8 and bool(_tagged(utf8)))


def without_markup(utf8: bytes) -> bytes:
    """The text without tags that only say how it looks, and with the signs that entities stand for.

    Tags that say more stay, so that their cell is told: ``<s>`` was struck out, ``<img>`` is a picture, and
    ``<td>`` parts cells.
    """
    if b"<" in utf8:
        utf8 = _TAG.sub(b"", _BREAK.sub(b" ", utf8))
    return _ENTITY.sub(_sign, utf8) if b"&" in utf8 else utf8


def _tagged(utf8: bytes) -> object:
    return _TAG.search(utf8) or _BREAK.search(utf8)


def _sign(entity: re.Match[bytes]) -> bytes:
    text = html.unescape(entity[0].decode())
    return entity[0] if _KEPT & set(text) else text.encode(errors="replace")
