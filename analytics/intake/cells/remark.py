"""Remark: cells that open a total or a comment, which are no sets, and what a comment says of the unit."""

from __future__ import annotations

import re
from functools import lru_cache

from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.units import UNIT_WORDS
from analytics.intake.cells.vocabulary import meanings

_TOTAL = re.compile(
    r"(?:(?:sub|grand|zwischen)[ -]?)?(?:total(?:s|es|i|e)?|totaux|totaal|sum|summe|gesamt(?:summe)?"
    r"|gesamt(?:volumen|gewicht|tonnage|last)|somme|suma|soma|averages?|avg|mean|ø|mittel(?:wert)?|schnitt|durchschnitt|promedio|moyenne|media|gemiddelde?|tonnage)"
    r"(?: (?:of|der|de|du|di|da|the|la|le|het))*"
    r"(?: (?:day|session|workout|week|month|sets?|reps?|volume|weight|load|kg|lbs?|tonnage"
    r"|tag|einheit|training|woche|satze|wdh|volumen|gewicht|dia|sesion|semana|series|volumen"
    r"|jour|seance|semaine|giorno|seduta|settimana|dag))*(?:\s*[:=].*|[\s\d.,/-]*(?:kg|lbs?)?)"
)
_ERROR = re.compile(r"#(?:[¡¿]?[a-z/0]+[!?]|n/?[avd]|n/b|#+)")
"""What a spreadsheet writes where it has no value, ``#REF!`` or ``####``: a broken cell, no comment."""
_TOTAL_LAST = re.compile(r"\S.* (?:sub|grand )?(?:total(?:s|es|e)?|totaux|totaal|summe|gesamt)\s*:?")
_CLAUSE = re.compile(r"[^\w\s/]+")
_OWN = re.compile(r"\b(?:body|korper|corp|goal|target|ziel|lost|gain|weigh(?:ed)?\b|gewogen)")
_FROM_HERE = re.compile(rf"\b(?:{'|'.join(meanings('from_here'))})\b")
_LONGEST = 120


@lru_cache(maxsize=65536)
def is_remark(text: str) -> bool:
    """Whether a cell opens a total or a comment row."""
    words = plain(tidy(text[:80]))
    comment = words.startswith(("//", "# ", "##")) or (words.startswith("#") and len(words) > 4)
    if comment and _ERROR.fullmatch(words):
        return False
    if comment or _TOTAL.fullmatch(words) or _TOTAL_LAST.fullmatch(words):
        return True
    return declared_unit(text) is not None


def declared_unit(text: str) -> str | None:
    """The unit of load that a line declares for what follows, ``From here on all weights in lb``.

    A clause names it and says from here, now, all or again; it is no amount, and nobody's own weight.
    """
    words = plain(tidy(text[:_LONGEST]))
    if not _FROM_HERE.search(words) or _OWN.search(words):
        return None
    for clause in _CLAUSE.split(words):
        if _FROM_HERE.search(clause) and not any(c.isdigit() for c in clause):
            units = {UNIT_WORDS[word] for word in clause.split() if len(word) > 1 and word in UNIT_WORDS}
            if len(units) == 1:
                return units.pop()
    return None
