"""Units: the words for units of load, length and time in seven languages."""

from __future__ import annotations

import re

UNIT_WORDS = {
    **dict.fromkeys(("kg", "kgs", "kg.", "kilo", "kilos", "kilogram", "kilograms", "kilogramm"), "kg"),
    **dict.fromkeys(
        ("kilogramme", "kilogrammes", "kilogramo", "kilogramos", "chilo", "chili", "kilo's"), "kg"
    ),
    **dict.fromkeys(
        ("chilogrammo", "chilogrammi", "quilo", "quilos", "quilograma", "quilogramas", "k"), "kg"
    ),
    **dict.fromkeys(("lb", "lbs", "lb.", "lbs.", "pound", "pounds", "#", "libra", "libras", "libbre"), "lb"),
}
"""Pfund and pond are left out: in Germany and the Netherlands they mean 500 g in daily life."""
UNIT = "|".join(sorted(map(re.escape, UNIT_WORDS), key=len, reverse=True))
"""Pattern of these words, the longest first."""


def names_two_units(text: str) -> bool:
    """Whether the name of a column leaves open which unit its loads have, as ``Weight (kg or lb)`` does."""
    return {UNIT_WORDS.get(word) for word in re.findall(r"[^\W\d]{2,}", text.lower())} >= {"kg", "lb"}


LENGTH_WORDS = {
    **dict.fromkeys(("cm", "centimeter", "centimetres", "centimetros", "centimetri"), "cm"),
    **dict.fromkeys(
        ("in", "inch", "inches", '"', "''", "zoll", "pulgadas", "pouces", "pollici", "polegadas"), "in"
    ),
    "mm": "mm",
    "m": "m",
}
TIME_WORDS = {
    **dict.fromkeys(("s", "sec", "secs", "seconds", "sek", "seg", "sekunden", "segundos", "secondes"), "s"),
    **dict.fromkeys(("min", "mins", "minutes", "minuten", "minutos", "minuti"), "min"),
}
OTHER_WORDS: dict[str, str] = {
    **dict.fromkeys(("st", "stone", "stones"), "stone"),
    **dict.fromkeys(("pfund", "pond"), "Pfund"),
    "g": "g",
    "gram": "g",
    "gramm": "g",
    "grams": "g",
    "t": "t",
    "n": "N",
    "newton": "N",
    "%": "%",
    "plates": "plates",
}
"""Units of load that are not taken for kg or lb: a file in one of them is refused."""
UNITS = {**UNIT_WORDS, **OTHER_WORDS, **LENGTH_WORDS, **TIME_WORDS, "mm:ss": "s", "m:ss": "s", "hh:mm": "s"}
"""Every word that may stand as a unit in a column name."""
