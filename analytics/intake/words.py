"""Words: roles, sides, failure marks, effort and times as athletes write them, in seven languages."""

from __future__ import annotations

import re

from analytics.intake.loads import EMPTY_WORDS
from analytics.intake.numbers import parse_number, tidy
from analytics.intake.plain import plain

_ROLE_WORDS = {
    "warm_up": (
        "w wu w/u warm warmup warm-up warm_up warmups warming calentamiento cal calent aproximacion "
        "aufwarmen aufwarmsatz aufw aw einwarmen echauffement ech riscaldamento risc aquecimento aq "
        "opwarmen opwarming opwarmset ow ramp ramp-up"
    ),
    "working": (
        "n normal work working working-set workset ws s straight top topset top-set main regular hard "
        "arbeitssatz arbeit hauptsatz efectiva efectivo trabajo serie normale travail effective "
        "lavoro allenante trabalho valida werkset werk x"
    ),
    "back_off": "b bo back-off backoff back_off back down-set downset desc retirada recul retour scarico leve",
    "drop": (
        "d ds drop drops dropset drop-set drop_set descendente descendentes descarga degressive degressif "
        "degr reduktionssatz reduktion abwurf stripping strip afvalset decrescente"
    ),
    "rest_pause": "rp r/p rest-pause restpause rest_pause rest_pause_set pausa-descanso pause cluster myo pausada",
}
_PHRASES = {
    "warm_up": ("warm up", "warm up set", "serie de calentamiento", "aufwarm satz", "serie d echauffement"),
    "working": (
        "top set",
        "work set",
        "working set",
        "serie efectiva",
        "serie de travail",
        "serie di lavoro",
    ),
    "back_off": ("back off", "back off set", "serie de retirada"),
    "drop": ("drop set", "serie descendente", "serie degressive", "serie decrescente", "strip set"),
    "rest_pause": ("rest pause", "rest pause set", "pausa descanso", "descanso pausa", "repos pause"),
}
_ROLES = {word: role for role, words in _ROLE_WORDS.items() for word in words.split()}
_ROLES |= {phrase: role for role, phrases in _PHRASES.items() for phrase in phrases}

_FAILURE = set(
    "f fail failed failure fallo al-fallo muscular-failure muskelversagen versagen echec cedimento falha falen "
    "mf tf ff".split()
) | {
    "to failure",
    "al fallo",
    "muscular failure",
    "bis versagen",
    "a l echec",
    "a cedimento",
    "ate a falha",
    "tot falen",
    "fallo muscular",
    "until failure",
}
_YES = {
    "yes",
    "y",
    "true",
    "1",
    "x",
    "si",
    "ja",
    "oui",
    "sim",
    "j",
    "o",
    "v",
    "s",
    "wahr",
    "vrai",
    "verdadero",
    "verdadeiro",
    "vero",
    "waar",
    "✓",
    "✔",
}
_NO = {
    "no",
    "n",
    "false",
    "0",
    "nein",
    "non",
    "nao",
    "nee",
    "falsch",
    "faux",
    "falso",
    "onwaar",
    "✗",
    *EMPTY_WORDS,
}

_SIDES = {
    **dict.fromkeys(
        (
            "l",
            "left",
            "links",
            "li",
            "izquierda",
            "izq",
            "izquierdo",
            "i",
            "gauche",
            "g",
            "sinistra",
            "sinistro",
            "sx",
            "sin",
            "esquerda",
            "esquerdo",
            "esq",
            "e",
            "lh",
            "linker",
        ),
        "left",
    ),
    **dict.fromkeys(
        (
            "r",
            "right",
            "rechts",
            "re",
            "derecha",
            "der",
            "derecho",
            "d",
            "droite",
            "droit",
            "destra",
            "destro",
            "dx",
            "direita",
            "direito",
            "dir",
            "rh",
            "rechter",
        ),
        "right",
    ),
}
_BOTH_SIDES = {
    "both",
    "beide",
    "beidseitig",
    "ambos",
    "ambas",
    "les deux",
    "entrambi",
    "entrambe",
    "b",
    "l/r",
    "l+r",
    "bilateral",
    "bilat",
    *EMPTY_WORDS,
}

_EFFORT = re.compile(
    r"(?P<kind>rpe|rir|@)?\s*:?\s*(?P<low>\d+(?:[.,]\d+)?)(?:\s*(?:-|to|a|bis|à)\s*(?P<high>\d+(?:[.,]\d+)?))?\s*(?:/\s*10)?\s*(?P<after>rpe|rir)?"
)
_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):(\d{1,2})(?:[.,]\d+)?")
_PARTS = re.compile(
    r"(?:(?P<h>\d+(?:[.,]\d+)?)\s*(?:h|hr|hrs|hour|hours|std|stunden?|horas?|heures?|ore|ora|uur))?\s*"
    r"(?:(?P<m>\d+(?:[.,]\d+)?)\s*(?:m|min|mins|minutes?|minuten?|minutos?|minuti|minuto|'|mn)\.?)?\s*"
    r"(?:(?P<s>\d+(?:[.,]\d+)?)\s*(?:s|sec|secs|seconds?|sek|sekunden?|seg|segs|segundos?|secondes?|secondi|seconden|\"|'')?\.?)?"
)


def parse_role(text: str | None) -> tuple[str | None, bool, str | None]:
    """(role, failure mark, problem) of a role cell: words or letters; an empty cell says nothing."""
    words = plain(tidy(text))
    if words in EMPTY_WORDS:
        return None, False, None
    if words in _ROLES:
        return _ROLES[words], False, None
    if words in _FAILURE:
        return None, True, None
    bare = words.strip("()[]#.* 0123456789")
    if bare in _ROLES:
        return _ROLES[bare], False, None
    if bare in _FAILURE:
        return None, True, None
    parts = [part for part in re.split(r"[,;+/&]| and | \- ", words) if part.strip()]
    roles = {_ROLES[p.strip()] for p in parts if p.strip() in _ROLES}
    failure = any(p.strip() in _FAILURE for p in parts)
    if parts and len(roles) <= 1 and all(p.strip() in _ROLES or p.strip() in _FAILURE for p in parts):
        return (roles.pop() if roles else None), failure, None
    return None, False, "is not a role"


def parse_failure(text: str | None) -> tuple[bool, str | None]:
    """(reached failure, problem) of a failure cell."""
    words = plain(tidy(text))
    if words in _NO:
        return False, None
    return (True, None) if words in _YES or words in _FAILURE else (False, "is neither yes nor no")


def parse_side(text: str | None) -> tuple[str | None, str | None]:
    """(left or right, problem) of a side cell; both sides is None."""
    words = plain(tidy(text)).strip("()[]. ")
    if words in _BOTH_SIDES:
        return None, None
    side = _SIDES.get(words)
    return (side, None) if side else (None, "is not a side")


def parse_rir(text: str | None, decimal: str) -> tuple[float | None, str | None]:
    """(repetitions in reserve, problem) of an RIR cell; a range is its middle; an RPE named in it is converted."""
    return _effort(text, decimal, "rir")


def parse_rpe(text: str | None, decimal: str) -> tuple[float | None, str | None]:
    """(repetitions in reserve, problem) of an RPE cell: 10 - RPE from 7 to 10 (Zourdos et al. 2016).

    A lower RPE stands for a range of repetitions left, so it stays empty and is named in the problem.
    """
    return _effort(text, decimal, "rpe")


def rir_of_rpe(rpe: float) -> float | None:
    """10 - RPE for 7 <= RPE <= 10, else None (Zourdos et al. 2016, JSCR 30(1):267-275)."""
    return 10.0 - rpe if 7 <= rpe <= 10 else None


def _effort(text: str | None, decimal: str, default: str) -> tuple[float | None, str | None]:
    words = tidy(text)
    if words in EMPTY_WORDS:
        return None, None
    if plain(words) in _FAILURE:
        return 0.0, None
    found = _EFFORT.fullmatch(words)
    if not found:
        return None, f"is not a {default.upper()}"
    values = [
        parse_number(found[name], "comma" if "," in found[name] else "point")
        for name in ("low", "high")
        if found[name]
    ]
    if any(v is None for v in values):
        return None, f"is not a {default.upper()}"
    value = sum(v for v in values if v is not None) / len(values)
    kind = found["after"] or (found["kind"] if found["kind"] in ("rpe", "rir") else None)
    kind = kind or ("rpe" if found["kind"] == "@" else default)
    if kind == "rpe":
        if value > 10:
            return None, "is above 10, not an RPE"
        rir = rir_of_rpe(value)
        return (rir, None) if rir is not None else (None, "is an RPE below 7, which stands for a range")
    return (value, None) if value <= 10 else (None, "is above 10, not an RIR")


def parse_seconds(text: str | None, unit: str) -> tuple[float | None, str | None]:
    """(seconds, problem) of a time cell; a plain number is in `unit`: s or min."""
    words = tidy(text)
    if words in EMPTY_WORDS:
        return None, None
    if found := _CLOCK.fullmatch(words):
        hours, minutes, seconds = (int(part or 0) for part in found.groups())
        return float(hours * 3600 + minutes * 60 + seconds), None
    number = parse_number(words, "comma" if "," in words else "point")
    if number is not None:
        seconds = number * (60 if unit == "min" else 1)
        return (seconds, None) if 0 <= seconds <= 86_400 else (None, "is not a time")
    found = _PARTS.fullmatch(words)
    if not found or not any(found.groupdict().values()):
        return None, "is not a time"
    total = 0.0
    for name, factor in (("h", 3600), ("m", 60), ("s", 1)):
        if found[name]:
            total += float(found[name].replace(",", ".")) * factor
    return (total, None) if total <= 86_400 else (None, "is not a time")
