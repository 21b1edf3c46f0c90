"""Naming: the normal form of an exercise name as people log it."""

from __future__ import annotations

import hashlib
import re
import tomllib
import unicodedata
from functools import lru_cache
from importlib import resources

_WORDS = tomllib.loads(resources.files("analytics.catalogue").joinpath("words.toml").read_text("utf-8"))
VARIATION: frozenset[str] = frozenset(_WORDS["variation"])
"""Words that tell one lift from another: never a misspelling of another word."""

_SILENT = frozenset(_WORDS["silent"])
_IRREGULAR: dict[str, str] = _WORDS["irregular"]
SYNONYM: dict[str, tuple[str, ...]] = {word: tuple(full.split()) for word, full in _WORDS["synonym"].items()}
"""Abbreviations and joined words, and the words they stand for."""

# Words about the set, the side or the place in the session, which name no other lift.
_SET_WORDS = re.compile(
    r"\b(?:(?:warm ?up|working|work|top|back ?off|drop|super|giant) ?set|warm ?up|back ?off|rest ?pause|amrap"
    r"|pyramid|(?:to )?failure|(?:each|per|both) (?:side|arm|leg)|\d+x\d+|\d+ ?rm)\b"
)
# What a lifter wears makes no other lift; a belt that carries the load, as in a belt squat, does.
_WORN = (
    r"(?:(?:lifting|weight|wrist|knee|elbow) )?(?:belt|straps?|wraps?|sleeves?|gurtel|zughilfen?|bandagen?"
    r"|cinturon|correas?|ceinture|sangles?|cintura|fasce|cinto|riem)"
)
_WITHOUT = r"(?:with|w/|no|without|mit|ohne|con|sin|avec|sans|senza|met|zonder|com|sem)"
_WORN_TOO = rf"{_WORN}(?:\s*(?:and|&|\+|,|und|y|et|e|en)\s*{_WORN})*(?: on| off)?"
_AIDS = re.compile(
    rf"[(\[]\s*(?:{_WITHOUT}\s*)?{_WORN_TOO}\s*[)\]]|\b{_WITHOUT}\s*(?:a )?{_WORN_TOO}\b|,\s*{_WORN_TOO}$"
)
_LABEL = re.compile(r"^\s*(?:(?:[a-h]\d{0,2}|\d{1,2})\s*[.):]\s+|[a-h]\d\s*[-–]?\s+)")
_SIDE = frozenset("lr")
_UNDECOMPOSED = str.maketrans(
    {"ø": "o", "ł": "l", "æ": "ae", "œ": "oe", "đ": "d", "ı": "i", "’": "'", "`": "'"}
)
_DEGREES = re.compile(r"(?<=\d) ?[°º]")
_POSSESSIVE = re.compile(r"'s\b")
_ELISION = re.compile(r"\b(?:l|d|dell|dall|all|sull|nell|un)'")
_WITH = re.compile(r"\bw/(?!o)")
_WORD = re.compile(r"[^\W_]+")
_LONGEST_READ = 400
_LONGEST_SLUG = 80


def fold(name: str) -> str:
    """Lower case without accents: NFKC, casefold, marks removed; equal for NFC and NFD (UAX #15)."""
    if name.isascii():
        return name.casefold().replace("`", "'")
    text = unicodedata.normalize("NFKC", _DEGREES.sub(" degree ", name)).casefold().translate(_UNDECOMPOSED)
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))


def words(name: str) -> list[str]:
    """Words of a name, folded, singular, without a leading label such as A1; punctuation only separates."""
    text = _ELISION.sub("", _POSSESSIVE.sub("s", _LABEL.sub("", fold(name))))
    return [_singular(word) for word in _WORD.findall(_WITH.sub("with ", text))]


@lru_cache(maxsize=65536)
def tokens(name: str) -> tuple[str, ...]:
    """Normal form: words with trade abbreviations written out, without connectives, side and set words.

    Empty for a name longer than 400 signs: that is a note, no name.
    """
    if len(name) > _LONGEST_READ:
        return ()
    plain = _SET_WORDS.sub(" ", " ".join(words(_AIDS.sub(" ", fold(name))))).split()
    if len(plain) > 1 and plain[-1] in _SIDE:
        plain.pop()
    full = [part for word in plain for part in SYNONYM.get(word, (word,))]
    return tuple(word for word in full if word not in _SILENT)


def own_id(name: str) -> str:
    """Id for a name outside the catalogue: holds a hyphen, so it can never be a catalogue id."""
    slug = "-".join(words(name[:_LONGEST_READ]))
    if not slug or len(slug) > _LONGEST_SLUG or len(name) > _LONGEST_READ:
        # A name of signs only, or a very long one, is told apart by a hash of its folded form.
        digest = hashlib.blake2s(fold(name).encode("utf-8", "backslashreplace"), digest_size=4).hexdigest()
        slug = "-".join(part for part in (slug[:60].rstrip("-"), digest) if part)
    return f"own-{slug}"


def _singular(word: str) -> str:
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    if word.endswith(("sses", "ches", "shes", "xes")):
        return word[:-2]
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word
