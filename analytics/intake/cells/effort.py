"""Effort and time: RIR, RPE, rest and time under load as athletes write them."""

from __future__ import annotations

import re

from analytics.intake.cells.loads import EMPTY_WORDS
from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import any_number, tidy
from analytics.intake.cells.words import is_failure

_LONGEST = 60
_EFFORT = re.compile(
    r"(?P<kind>rpe|rir|@)?\s*:?\s*(?P<low>\d+(?:[.,]\d+)?)(?:\s*(?:-|to|a|bis|à)\s*(?P<high>\d+(?:[.,]\d+)?))?\s*(?:/\s*10)?\s*(?P<after>rpe|rir)?"
)
_LEFT = re.compile(
    r"(?<=\d)\s*(?:reps?|rir|wdh|rip|rep\.)?\s*(?:left|in (?:the |my )?tank|(?:left )?in reserve|in reserva"
    r"|en reserva|en réserve|in riserva|em reserva|übrig|im tank|over|restantes?|restants?)"
    r"(?: in (?:the |my )?tank)?$"
)
"""Words behind a number that make it repetitions in reserve."""
_ABOUT = re.compile(r"^(?:~|ca\.?|circa|about|approx\.?|etwa|env\.?|environ)\s*(?=\d)")
_NAMED = re.compile(r"(?:rpe|rir|@)\s*:?\s*\d|\d\s*(?:rpe|rir)$")
_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,3}):(\d{1,2})(?:[.,]\d+)?")
_PARTS = re.compile(
    r"(?:(?P<h>\d+(?:[.,]\d+)?)\s*(?:h|hr|hrs|hour|hours|std|stunden?|horas?|heures?|ore|ora|uur))?\s*"
    r"(?:(?P<m>\d+(?:[.,]\d+)?)\s*(?:m|min|mins|minutes?|minuten?|minutos?|minuti|minuto|'|mn)\.?)?\s*"
    r"(?:(?P<s>\d+(?:[.,]\d+)?)\s*(?:s|sec|secs|seconds?|sek|sekunden?|seg|segs|segundos?|secondes?|secondi|seconden|\"|'')?\.?)?"
)


def parse_rir(text: str | None, decimal: str) -> tuple[float | None, str | None]:
    """(repetitions in reserve, problem) of an RIR cell; a range is its middle, a named RPE is converted."""
    return _effort(text, decimal, "rir")


def parse_rpe(text: str | None, decimal: str) -> tuple[float | None, str | None]:
    """(repetitions in reserve, problem) of an RPE cell: 10 - RPE from 7 to 10 (Zourdos et al. 2016).

    A lower RPE stands for a range of repetitions left, so it stays empty and is named in the problem.
    """
    return _effort(text, decimal, "rpe")


def noted_rir(text: str | None, decimal: str, *, alone: bool) -> float | None:
    """Repetitions in reserve that one part of a note names, ``RIR 1; belt``, else None.

    A word for failure counts where the note stands beside one set `alone`.
    """
    words = tidy(text)
    if len(words) > _LONGEST:
        return None
    parts = [part.strip() for part in re.split(r"[;,](?=\s)", words)]
    named = [
        part
        for part in parts
        if _NAMED.search(part) or _LEFT.search(part) or (alone and len(part) > 3 and is_failure(part))
    ]
    return _effort(named[0], decimal, "rir")[0] if len(named) == 1 else None


def rir_of_rpe(rpe: float) -> float | None:
    """10 - RPE for 7 <= RPE <= 10, else None (Zourdos et al. 2016, JSCR 30(1):267-275)."""
    return 10.0 - rpe if 7 <= rpe <= 10 else None


@remembered
def _effort(text: str | None, decimal: str, default: str) -> tuple[float | None, str | None]:
    words = tidy(text)
    if words in EMPTY_WORDS:
        return None, None
    if len(words) > _LONGEST:
        return None, f"is not a {default.upper()}"
    if is_failure(words):
        return 0.0, None
    found = _EFFORT.fullmatch(_ABOUT.sub("", _LEFT.sub(" rir", words)))
    if not found:
        return None, f"is not a {default.upper()}"
    values = [any_number(found[name]) for name in ("low", "high") if found[name]]
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


@remembered
def parse_seconds(text: str | None, unit: str) -> tuple[float | None, str | None]:
    """(seconds, problem) of a time cell; a plain number is in `unit`: s or min."""
    words = tidy(text)
    if words in EMPTY_WORDS:
        return None, None
    if len(words) > _LONGEST:
        return None, "is not a time"
    if found := _CLOCK.fullmatch(words):
        hours, minutes, rest = (int(part or 0) for part in found.groups())
        return float(hours * 3600 + minutes * 60 + rest), None
    number = any_number(words)
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
