"""Numbers: one cell's text to a plain number, and the file's decimal mark."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable

_FRACTIONS = {"½": ".5", "¼": ".25", "¾": ".75"}
_SPACES = dict.fromkeys(map(ord, "\u00a0\u2007\u202f\u2009\u200a\u3000\t\n\r\f\v"), " ")
_DROPPED = dict.fromkeys(map(ord, "\u200b\u200c\u200d\u2060\ufeff\u00ad\x00\u200e\u200f\ufe0e\ufe0f"))
_MARKS = str.maketrans("−–—‒﹣－×✕✖·’‘`´，．＠＋／＞：", "------xxx.''''" + ",.@+/>:")
_MOST_THOUSANDS = 10
"""Nobody lifts 10,000 kg or lb: three digits after a mark are decimals from there on."""
_PLAIN = re.compile(r"[+-]?\d+(?:\.\d+)?")
_SCIENTIFIC = re.compile(r"[+-]?\d+(?:[.,]\d+)?e[+-]?\d{1,3}")
_STAR = re.compile(r"(?<=[\da-z])\s*\*\s*(?=\d)")
_SPACED = re.compile(r"[+-]?\s?\d{1,3}(?:[ ']\d{3})*(?:[.,]\d+)?")
_TOKEN = re.compile(r"\d[\d.,']*\d|\d")
_QUOTED_FORMULA = re.compile(r'="([^"]*)"')
_FORMULA = re.compile(r"=\s*(\d+(?:[.,]\d{1,2})?)((?:\s*[+*-]\s*\d+(?:[.,]\d{1,2})?)+)")
_SET_WORD = re.compile(r"^(?:sets?|satz|series?|série)|(?:sets?|satz|sätze|saetze|series?|séries?|séries|x)$")


def tidy(text: str | None) -> str:
    """The cell in lower case, with ASCII digits and one kind of space, minus and times sign.

    Digits of other scripts become ASCII ones; ``="80"`` (a spreadsheet's way of keeping text) and ``=60+20``
    become 80.
    """
    if not text:
        return ""
    text = text.strip()
    if text.isascii():
        text = text.lower()
    else:
        for sign, decimal in _FRACTIONS.items():
            text = re.sub(rf"(\d)\s*{sign}", rf"\g<1>{decimal}", text).replace(sign, "0" + decimal)
        text = text.translate(_MARKS)
        text = unicodedata.normalize("NFKC", text).translate(_SPACES).translate(_DROPPED)
        text = "".join(
            str(unicodedata.digit(c))
            if c.isdigit() and not c.isascii() and unicodedata.digit(c, -1) >= 0
            else c
            for c in text
        )
        text = text.translate(_MARKS).lower()
    if text.startswith('="'):
        formula = _QUOTED_FORMULA.fullmatch(text)
        text = formula[1] if formula else text
    elif text.startswith("=") and (formula := _FORMULA.fullmatch(text)):
        text = _value(formula[0])
    if text.startswith("'") and len(text) > 1:
        text = text[1:]
    if "*" in text:
        text = _STAR.sub("x", text)
    return " ".join(text.split())


def _value(formula: str) -> str:
    """The value of a sum or a product of plain numbers, ``=60+2*10``."""
    total = 0.0
    for sign, term in re.findall(r"([+-]?)([^+-]+)", formula.lstrip("= ").replace(",", ".").replace(" ", "")):
        total += math.prod(map(float, term.split("*"))) * (-1 if sign == "-" else 1)
    return f"{round(total, 6):g}"


def parse_number(text: str, decimal: str) -> float | None:
    """The value of a tidied text, or None where it is no number under the file's decimal mark.

    ``1,020.5`` and ``1.020,5`` are read by their last mark.  A single mark before exactly three digits is a
    thousands mark or a decimal mark by `decimal`; in a `mixed` file it is not readable.
    """
    if "'" in text or " " in text:
        if not _SPACED.fullmatch(text):
            return None
        text = text.replace("'", "").replace(" ", "")
    if _PLAIN.fullmatch(text):
        head, _, tail = text.partition(".")
        if len(tail) != 3 or decimal == "point" or head.lstrip("+-") == "0":
            return _finite(text)
    if _SCIENTIFIC.fullmatch(text):
        return _finite(text.replace(",", "."))
    sign = -1.0 if text.startswith("-") else 1.0
    body = text[1:] if text[:1] in ("+", "-") else text
    value = _grouped(body, decimal)
    return None if value is None else sign * value


def any_number(text: str) -> float | None:
    """As `parse_number` for a text by itself: a comma, where there is one, is its decimal mark."""
    return parse_number(text, "comma" if "," in text else "point")


def _grouped(body: str, decimal: str) -> float | None:
    if not body or not re.fullmatch(r"\d*[\d.,]*\d", body):
        return None
    points, commas = body.count("."), body.count(",")
    if points and commas:
        last = "." if body.rfind(".") > body.rfind(",") else ","
        other = "," if last == "." else "."
        whole, _, tail = body.rpartition(last)
        if last in whole or not re.fullmatch(rf"\d{{1,3}}(?:{re.escape(other)}\d{{3}})+", whole):
            return None
        return _finite(whole.replace(other, "") + "." + tail)
    if points + commas == 0:
        return _finite(body)
    mark = "." if points else ","
    if points + commas > 1:
        if re.fullmatch(rf"\d{{1,3}}(?:{re.escape(mark)}\d{{3}})+", body):
            return _finite(body.replace(mark, ""))
        return None
    whole, tail = body.split(mark)
    own = "point" if mark == "." else "comma"
    if len(tail) != 3 or not whole or whole == "0" or len(whole) > 3 or decimal == own:
        return _finite((whole or "0") + "." + tail)
    if decimal == "mixed":
        return None
    return _finite(whole + tail)


def _finite(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def decimal_mark(cells: Iterable[str | None], fallback: str) -> str:
    """The file's decimal mark, point or comma, from its distinct number cells; else `fallback`.

    ``mixed`` means that both marks stand where they can only be decimal marks.
    """
    seen: set[str] = set()
    for cell in cells:
        if cell is None or ("," not in cell and "." not in cell):
            continue
        for token in _TOKEN.findall(cell.replace(" ", " ")):
            if mark := _evidence(token):
                seen.add(mark)
    if len(seen) == 2:
        return "mixed"
    return seen.pop() if seen else fallback


def _evidence(token: str) -> str | None:
    points, commas = token.count("."), token.count(",")
    if points and commas:
        return "point" if token.rfind(".") > token.rfind(",") else "comma"
    if points + commas != 1:
        if points > 1:
            return "comma"
        return "point" if commas > 1 and re.fullmatch(r"\d{1,3}(,\d{3})+", token) else None
    mark = "." if points else ","
    whole, tail = token.split(mark)
    thousands = len(tail) == 3 and whole != "0" and len(whole) <= 3
    if thousands and not (whole.isdecimal() and int(whole) >= _MOST_THOUSANDS):
        return None
    return "point" if mark == "." else "comma"


def set_number(text: str) -> int | None:
    """A whole number from 0 to 1000, with or without the word for set or a times sign beside it."""
    words = _SET_WORD.sub("", tidy(text))
    number = parse_number(words.strip(" .#:"), "point")
    return int(number) if number is not None and 0 <= number <= 1000 and number == int(number) else None
