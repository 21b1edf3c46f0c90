"""Style: how one invented athlete writes a training log - layout, language, units, marks and habits."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

ROLE_ORDER = ("warm_up", "working", "back_off", "drop", "rest_pause")


@dataclass(frozen=True, kw_only=True)
class Style:
    """`layout`: rows, shorthand, sets_at, numbered or blocks.  `effort`: rir, rpe or none.  `roles`: words,
    warm_ups (only those are marked) or none.  `day`: a strftime pattern."""

    layout: str = "rows"
    language: str = "en"
    delimiter: str = ","
    encoding: str = "utf-8"
    line_end: str = "\n"
    day: str = "%Y-%m-%d"
    decimal: str = "."
    unit: str = "kg"
    effort: str = "rir"
    roles: str = "words"
    rest: bool = False
    title: str | None = None
    unit_column: bool = False
    monthly: bool = False


@dataclass(frozen=True, kw_only=True)
class Language:
    """Words of one language for column heads and roles; notes that athletes leave."""

    date: str
    exercise: str
    set_number: str
    load: str
    reps: str
    role: str
    rest: str
    side: str
    superset: str
    note: str
    work: str
    unit: str
    roles: tuple[str, str, str, str, str]
    left: str
    right: str
    notes: tuple[str, ...]


LANGUAGES = {
    "en": Language(
        date="Date",
        exercise="Exercise",
        set_number="Set",
        load="Weight",
        reps="Reps",
        role="Set type",
        rest="Rest",
        side="Side",
        superset="Superset",
        note="Notes",
        work="Work",
        unit="Unit",
        roles=("warm-up", "working", "back-off", "drop", "rest-pause"),
        left="left",
        right="right",
        notes=(
            "felt heavy, slept 5 h",
            'coach said "one more", so one more',
            "belt on",
            "grip slipped on the last rep",
            "new shoes; better",
            "rushed, gym was full",
            "easy today",
            "hips stiff at first\nfine after two sets",
        ),
    ),
    "de": Language(
        date="Datum",
        exercise="Übung",
        set_number="Satz",
        load="Gewicht",
        reps="Wdh",
        role="Satzart",
        rest="Pause",
        side="Seite",
        superset="Supersatz",
        note="Bemerkung",
        work="Leistung",
        unit="Einheit",
        roles=("Aufwärmen", "Arbeitssatz", "Back-off", "Dropset", "Rest-Pause"),
        left="links",
        right="rechts",
        notes=(
            "schwer; schlecht geschlafen",
            "Gürtel",
            'Trainer: "sauberer absenken"',
            "Griff rutscht",
            "lief gut, nächstes Mal mehr",
        ),
    ),
    "es": Language(
        date="Fecha",
        exercise="Ejercicio",
        set_number="Serie",
        load="Peso",
        reps="Repeticiones",
        role="Tipo de serie",
        rest="Descanso",
        side="Lado",
        superset="Superserie",
        note="Notas",
        work="Trabajo",
        unit="Unidad",
        roles=("calentamiento", "efectiva", "back-off", "descendente", "rest-pause"),
        left="izquierda",
        right="derecha",
        notes=("dormí poco, pesaba mucho", "buen día", "sin cinturón", "prisa, gimnasio lleno"),
    ),
    "fr": Language(
        date="Date",
        exercise="Exercice",
        set_number="Série",
        load="Charge",
        reps="Répétitions",
        role="Type de série",
        rest="Repos",
        side="Côté",
        superset="Superset",
        note="Remarques",
        work="Travail",
        unit="Unité",
        roles=("échauffement", "travail", "back-off", "dégressive", "rest-pause"),
        left="gauche",
        right="droite",
        notes=("mal dormi ; lourd", "ceinture", "bonne séance", "salle pleine, pressé"),
    ),
    "it": Language(
        date="Data",
        exercise="Esercizio",
        set_number="Serie",
        load="Peso",
        reps="Ripetizioni",
        role="Tipo di serie",
        rest="Recupero",
        side="Lato",
        superset="Superset",
        note="Note",
        work="Lavoro",
        unit="Unità",
        roles=("riscaldamento", "lavoro", "back-off", "stripping", "rest-pause"),
        left="sinistra",
        right="destra",
        notes=("dormito poco", "buona giornata", "presa debole; fasce"),
    ),
}


@cache
def exercise_names() -> dict[str, dict[str, str]]:
    """Language to exercise id to the name written there."""
    return tomllib.loads(resources.files("analytics.simulate").joinpath("names.toml").read_text("utf-8"))
