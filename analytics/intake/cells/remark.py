"""Remark: cells that open a total or a comment, which are no sets."""

from __future__ import annotations

import re
from functools import lru_cache

from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain

_TOTAL = re.compile(
    r"(?:(?:sub|grand|zwischen)[ -]?)?(?:total(?:s|es|i|e)?|totaux|totaal|sum|summe|gesamt(?:summe)?"
    r"|gesamt(?:volumen|gewicht|tonnage|last)|somme|suma|soma|averages?|avg|mean|ø|mittel(?:wert)?|schnitt|durchschnitt|promedio|moyenne|media|gemiddelde?|tonnage)"
    r"(?: (?:of|der|de|du|di|da|the|la|le|het))*"
    r"(?: (?:day|session|workout|week|month|sets?|reps?|volume|weight|load|kg|lbs?|tonnage"
    r"|tag|einheit|training|woche|satze|wdh|volumen|gewicht|dia|sesion|semana|series|volumen"
    r"|jour|seance|semaine|giorno|seduta|settimana|dag))*(?:\s*[:=].*|[\s\d.,]*(?:kg|lbs?)?)"
)
_ERROR = re.compile(r"#(?:[¡¿]?[a-z/0]+[!?]|n/?[avd]|n/b|#+)")
"""What a spreadsheet writes where it has no value, ``#REF!`` or ``####``: a broken cell, no comment."""
_TOTAL_LAST = re.compile(r"\S.* (?:sub|grand )?(?:total(?:s|es|e)?|totaux|totaal|summe|gesamt)\s*:?")


@lru_cache(maxsize=65536)
def is_remark(text: str) -> bool:
    """Whether a cell opens a total or a comment row."""
    words = plain(tidy(text[:80]))
    comment = words.startswith(("//", "# ", "##")) or (words.startswith("#") and len(words) > 4)
    if comment and _ERROR.fullmatch(words):
        return False
    return comment or bool(_TOTAL.fullmatch(words) or _TOTAL_LAST.fullmatch(words))
