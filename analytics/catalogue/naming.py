"""Naming: the normal form of an exercise name as people log it."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from functools import lru_cache

_LONGEST = 200
_UNDECOMPOSED = str.maketrans({"ø": "o", "ł": "l", "æ": "ae", "œ": "oe", "đ": "d", "ı": "i"})
_POSSESSIVE = re.compile(r"['’`´]s\b")
_WITH = re.compile(r"\bw/(?!o)")
_WORD = re.compile(r"[^\W_]+")
_IRREGULAR = {
    "flies": "fly",
    "flyes": "fly",
    "flys": "fly",
    "flye": "fly",
    "calves": "calf",
    "abs": "ab",
    "dbs": "db",
    "kbs": "kb",
    "bbs": "bb",
}
_SYNONYMS: dict[str, tuple[str, ...]] = {
    "db": ("dumbbell",),
    "dumbell": ("dumbbell",),
    "bb": ("barbell",),
    "kb": ("kettlebell",),
    "bw": ("bodyweight",),
    "ext": ("extension",),
    "extn": ("extension",),
    "tri": ("tricep",),
    "bi": ("bicep",),
    "rev": ("reverse",),
    "inc": ("incline",),
    "dec": ("decline",),
    "alt": ("alternating",),
    "alternate": ("alternating",),
    "mach": ("machine",),
    "lat": ("lat",),
    "ham": ("hamstring",),
    "hammie": ("hamstring",),
    "one": ("single",),
    "1": ("single",),
    "unilateral": ("single",),
    "deg": ("degree",),
    "pull": ("pull",),
    "pulldown": ("pull", "down"),
    "pullup": ("pull", "up"),
    "pushup": ("push", "up"),
    "pressup": ("press", "up"),
    "chinup": ("chin", "up"),
    "situp": ("sit", "up"),
    "stepup": ("step", "up"),
    "pushdown": ("push", "down"),
    "pressdown": ("press", "down"),
    "pullover": ("pull", "over"),
    "kickback": ("kick", "back"),
    "pullthrough": ("pull", "through"),
    "deadlift": ("dead", "lift"),
    "tbar": ("t", "bar"),
    "ezbar": ("ez", "bar"),
    "seating": ("seated",),
    "laying": ("lying",),
    "militar": ("military",),
    "grip": ("grip",),
}
_SILENT = frozenset(
    # articles and connectives of the seven languages
    "the a an on with and of for to at in my "
    "der die das den dem am im mit auf und "
    "el la los las con en de del al y "
    "le les au aux avec du des et sur "
    "il lo gli alla al ai allo e di "
    "o os as na no com em da do "
    "de het een met op aan "
    # words about side and set, which do not name another lift
    "left right lh rh links rechts heavy light".split()
)
_SET_PHRASES = re.compile(
    r"\b(?:warm ?up|working|work|top|back ?off|drop) sets?\b|\bwarm ?ups?\b|\bdrop ?sets?\b|\bback ?off\b"
)


def fold(name: str) -> str:
    """Lower case without accents: NFKC, casefold, marks removed; equal for NFC and NFD (UAX #15)."""
    text = unicodedata.normalize("NFKC", name[: 4 * _LONGEST]).casefold().translate(_UNDECOMPOSED)
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))


def words(name: str) -> list[str]:
    """Words of a name, folded, singular; punctuation, hyphens and brackets only separate."""
    text = _WITH.sub("with ", _POSSESSIVE.sub("s", fold(name)))
    return [_singular(word) for word in _WORD.findall(text)]


@lru_cache(maxsize=65536)
def tokens(name: str) -> tuple[str, ...]:
    """Normal form: words with trade abbreviations written out, without connectives, side and set words."""
    plain = _SET_PHRASES.sub(" ", " ".join(words(name))).split()
    full = [part for word in plain for part in _SYNONYMS.get(word, (word,))]
    kept = tuple(word for word in full if word not in _SILENT)
    return kept or tuple(full)


def own_id(name: str) -> str:
    """Id for a name outside the catalogue: holds a hyphen, so it can never be a catalogue id."""
    slug = "-".join(words(name))
    if not slug or len(slug) > 80:
        # A name of signs only, or a very long one, is told apart by a hash of its folded form.
        digest = hashlib.blake2s(unicodedata.normalize("NFKC", name).casefold().encode("utf-8", "replace"))
        slug = "-".join(part for part in (slug[:60].rstrip("-"), digest.hexdigest()[:8]) if part)
    return f"own-{slug}"


def _singular(word: str) -> str:
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    if word.endswith(("sses", "ches", "shes", "xes")):
        return word[:-2]
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word
