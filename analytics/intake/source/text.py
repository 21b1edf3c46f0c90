"""Text: the bytes of one export as UTF-8 lines, with the encoding they came in."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

from analytics.errors import BadExport
from analytics.intake.source.codepage import codepage, spelled
from analytics.intake.source.mail import looks_quoted, unquoted
from analytics.intake.source.mangled import looks_mangled, unmangled
from analytics.intake.source.markup import has_markup, without_markup
from analytics.intake.source.octets import has_lone_return

ASCII, UTF_8, UTF_8_WITH_MARK = "ASCII", "UTF-8", "UTF-8 with mark"
_MARKS = (
    (codecs.BOM_UTF32_LE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF32_BE, "utf-32", "UTF-32"),
    (codecs.BOM_UTF16_LE, "utf-16", "UTF-16"),
    (codecs.BOM_UTF16_BE, "utf-16", "UTF-16"),
)
_BINARY = (
    (b"PK\x03\x04", "a spreadsheet or zip file"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old spreadsheet or document file"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"SQLite format 3\x00", "a database"),
    (b"\x1f\x8b", "a compressed file"),
    (b"Rar!", "a compressed file"),
    (b"7z\xbc\xaf\x27\x1c", "a compressed file"),
)
_SIGNS = {b"\xe2\x80\xa8": b" ", b"\xc2\x85": b" ", codecs.BOM_UTF8: b""}
"""Signs that other programs take for line ends, and this one for spaces; marks inside of joined files."""
_CONTROL = bytes(set(range(32)) - {9, 10, 11, 12, 13, 26})
_PERHAPS_UTF_8 = re.compile(rb"[\xc2-\xf4][\x80-\xbf]")
_CURE = "Open it where it was made and save it as CSV"
_SAMPLE = 65_536


@dataclass(frozen=True, slots=True)
class Text:
    """UTF-8 bytes in which a carriage return stands only before a line feed, and the encoding of the file."""

    utf8: bytes
    encoding: str


def decode(raw: bytes, path: str) -> Text:
    """The text of a file.  Raises BadExport for a binary file, with the cure to save it as CSV.

    Tried in order: byte-order mark, UTF-16 by its zero bytes, UTF-8, then line by line, as in joined files,
    UTF-8 or a code page.  Line ends of any kind become line feeds; NULs and marks inside go, and so does
    what is left of a web page's markup, or of a mail that quotes the log; mangled letters are mended.
    """
    if what := _binary(raw):
        raise BadExport(path, 1, f"this is {what}, not a text table", _CURE)
    for mark, codec, name in _MARKS:
        if raw.startswith(mark):
            return _text(raw.decode(codec, errors="replace").encode(), name)
    if codec_16 := _bare_utf16(raw):
        return _text(raw.decode(codec_16, errors="replace").encode(), "UTF-16 without mark")
    raw = raw.rstrip(b"\x00")
    if looks_binary(raw):
        raise BadExport(path, 1, "this is a binary file, not a text table", _CURE)
    if raw.isascii():
        return _text(raw, ASCII, plain=True)
    marked = raw.startswith(codecs.BOM_UTF8)
    if _is_utf8(raw):
        return _text(raw, UTF_8_WITH_MARK if marked else UTF_8)
    codec, page = codepage(raw)
    if not _PERHAPS_UTF_8.search(raw):
        return _text(spelled(raw, codec).encode(), page)
    lines = raw.split(b"\n")
    joined = any(_is_utf8(line) for line in lines if not line.isascii())
    text = b"\n".join(line if _is_utf8(line) else spelled(line, codec).encode() for line in lines)
    return _text(text, f"UTF-8 and {page}" if joined else page)


def as_it_is(portion: bytes) -> Text | None:
    """The text of whole lines (ASCII or UTF-8) of which `decode` changes nothing; None for any others."""
    plain = portion.isascii()
    if not plain and (not _is_utf8(portion) or any(sign in portion for sign in _SIGNS)):
        return None
    if looks_quoted(portion) or (not plain and looks_mangled(portion)):
        return None
    if has_lone_return(portion) or b"\x00" in portion or has_markup(portion):
        return None
    return Text(portion, ASCII if plain else UTF_8)


def _text(utf8: bytes, encoding: str, *, plain: bool = False) -> Text:
    """Every record end becomes a line feed, where a lone carriage return stands for one; NULs go.

    `plain`: the text is known to be ASCII.
    """
    if has_lone_return(utf8):
        utf8 = utf8.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    if not plain and not utf8.isascii():
        if looks_mangled(utf8):
            text, page = unmangled(utf8.decode())
            utf8, encoding = text.encode(), f"{encoding}, once read as {page}" if page else encoding
        for sign, instead in _SIGNS.items():
            if sign in utf8:
                utf8 = utf8.replace(sign, instead)
    if b"\x00" in utf8:
        utf8 = utf8.replace(b"\x00", b"")
    if has_markup(utf8):
        utf8 = without_markup(utf8)
    return Text(unquoted(utf8), encoding)


def _binary(raw: bytes) -> str | None:
    """What a file of a kind that is known by its first bytes is."""
    return next((what for magic, what in _BINARY if raw.startswith(magic)), None)


def _bare_utf16(raw: bytes) -> str | None:
    """UTF-16 shows by zeros in every other byte of mostly Western text."""
    sample = raw[:_SAMPLE]
    pairs = len(sample) // 2
    if pairs < 2 or len(raw) % 2:
        return None
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if odd > 0.4 * pairs and even < 0.05 * pairs:
        return "utf-16-le"
    if even > 0.4 * pairs and odd < 0.05 * pairs:
        return "utf-16-be"
    return None


def looks_binary(raw: bytes) -> bool:
    """Whether the first bytes are those of another kind of file, or hold signs that no text has."""
    if _binary(raw):
        return True
    sample = raw[:_SAMPLE]
    control = len(sample) - len(sample.translate(None, _CONTROL))
    return control > 0.02 * len(sample) + 2


def _is_utf8(raw: bytes) -> bool:
    try:
        codecs.utf_8_decode(raw, "strict", True)
    except UnicodeDecodeError:
        return False
    return True
