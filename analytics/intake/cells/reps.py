"""Reps: one cell's text to the repetitions, or the seconds, of its sets."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from analytics.intake.cells.dayline import is_day
from analytics.intake.cells.effort import parse_seconds
from analytics.intake.cells.loads import EMPTY_WORDS, IS_A_DAY, Load
from analytics.intake.cells.memory import remembered
from analytics.intake.cells.numbers import parse_number, tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.cells.words import is_failure

MOST_REPS, MOST_MINUTES = 200, 15
MOST_USUAL_REPS = 30
"""Where one of two numbers counts reps, it is not the one above this.  Common practice, no source."""
NUMBER = r"\d+(?:[.,]\d+)*"
MOST_CLUSTERED = 5
"""``10+10`` is one side and the other; equal reps up to this are a cluster.  Common practice, no source."""
_TRIED = frozenset(meanings("missed"))
"""Words for a lift that was tried and not made."""
_LONGEST = 200
_EACH_SIDE = (
    r"(?:/|each|per|je|pro|por|par|per|cada|ciascun[oa]|chaque|elk|a|à)?\s*(?:side|arm|leg|hand|seite|bein|lado|pierna|"
    r"brazo|côté|cote|jambe|bras|lato|gamba|braccio|perna|braço|braco|kant|zijde|been)|each|e/s|ea\.?|je|cada|elk"
)
_WORD = re.compile(
    r"(?<=\d)\s*(?:(?:reps?\.?|repetitions|wdh\.?|whd\.?|wiederholungen|rip\.?|rep[eé]s\.?|hh\.?|herh\.?|x)"
    rf"|(?:reps?\.?|wdh\.?|x)?\s*(?:{_EACH_SIDE}))$"
)
_MOST = re.compile(r"^(?:amrap|max|x)\s*[:=]?\s*(?=\d+$)|(?<=\d)\s*\+?\s*\(?(?:amrap|max)\)?$")
SIDED = r"\d{1,3}s?[lr]/\d{1,3}s?[lr]"
"""Reps, or times, of both sides as `spoken` writes them."""
TIMES = r"\d{1,3}s?(?:[/,]\d{1,3}s?)*[/,]\d{1,3}\s?(?:s|secs?|sek|seg)(?![a-z])"
DISTANCE = r"\d{1,4}(?:[.,]\d)?\s?(?:m|metres?|meters?|metros?|m[eè]tres?|metri|yds?|yards?|ft|feet)(?![a-z])"
_METRES = re.compile(r"(\d{1,4})(?:[.,]\d)?([a-zè]+)")
_STROKES = r"(?:['′]{2}|[\"”])"
_HELD = rf"(?:(\d{{1,2}})\s?['′](?!['′])(?:\s?([0-5]?\d)\s?{_STROKES}?)?|(\d{{1,3}})\s?{_STROKES})(?![\d.,'])"
_HELD_SETS, _HELD_LIST = (re.compile(rf"({lead})\s?{_HELD}") for lead in ("x", "^|x|[/,]"))
_SHORTEST_WAY = 5
"""``2m`` may be two minutes; nobody carries a load for less than 5 m.  Common practice, no source."""
_TIMED = re.compile(r"\d\s*(?:s|min|mn|'|\")")
_RATED = re.compile(r"\s*@\s*(?=(?:10|[5-9](?:[.,]5)?)$)")
_FAILED = re.compile(r"(?<=\d)\s*[(\[,;-]?\s*(f|!|\*|[a-zà-ÿ][a-zà-ÿ' ]*?)\.?[)\]]?$")


@dataclass(frozen=True, slots=True)
class Piece:
    """One set out of a cell.  `load` None: the load stands elsewhere in the row.

    `chain` numbers the drop chains of the cell from 1.  `sides`: reps were written as ``10/8``; the first
    is left and the second right if the exercise is one-sided, else they are two sets; where a word `told`
    the side it stands on any exercise.
    """

    load: Load | None = None
    reps: int | None = None
    seconds: float | None = None
    rir: float | None = None
    role: str | None = None
    chain: int | None = None
    sides: str | None = None
    told: bool = False
    note: str | None = None


@remembered
def parse_reps(text: str | None) -> tuple[Piece, str | None]:
    """(set, problem) of a reps cell; an empty cell is a set without reps.  A mark for failure is RIR 0.

    A distance says no reps; see `rows.lifts`.
    """
    words = timed(tidy(text), listed=True)
    if words in EMPTY_WORDS:
        return Piece(), None
    if len(words) > _LONGEST:
        return Piece(), "is not a number of reps"
    if plain(words) in _TRIED:
        return Piece(reps=0), None
    if is_failure(words):
        return Piece(), "may be a missed lift, which is 0 reps, or a set to failure without its reps"
    failed = _FAILED.search(words)
    if failed and (failed[1] in ("!", "*") or is_failure(failed[1])):
        words, rir = words[: failed.start()], 0.0
    else:
        words, rir = _MOST.sub("", words), None
    words = _WORD.sub("", words)
    number = parse_number(words, "point")
    if number is not None:
        if number < 0:
            return Piece(), "is below zero"
        if number > MOST_REPS:
            return Piece(), f"is more than {MOST_REPS} reps"
        if number != int(number):
            return Piece(), "is not a whole number"
        return Piece(reps=int(number), rir=rir), None
    pieces = parse_reps_list(words)
    if isinstance(pieces, str) and _TIMED.search(words):
        seconds = parse_seconds(words, "s")[0]
        if seconds and seconds < 60 * MOST_MINUTES:
            return Piece(seconds=seconds, rir=rir), None
    if isinstance(pieces, str):
        return Piece(), IS_A_DAY if is_day(words) else pieces
    if len(pieces) > 1:
        return Piece(), "holds several sets"
    return replace(pieces[0], note=None), None


def parse_reps_list(reps: str) -> list[Piece] | str:
    """Reps of one or several sets: ``8``, ``15,13,12``, ``10/8``, ``8+2``, ``30s``, ``40m``; or why."""
    reps = re.sub(r"(?<=\d) (?=\d)", ",", reps).replace(" ", "")
    if found := re.fullmatch(r"(\d{1,2}):(\d{2})", reps):
        minutes, seconds = int(found[1]), int(found[2])
        if minutes >= MOST_MINUTES or seconds > 59:
            return f"is neither reps nor a time under load below {MOST_MINUTES} minutes"
        return [Piece(seconds=60.0 * minutes + seconds)]
    if found := re.fullmatch(r"(\d{1,4})(s|sec|secs|sek|seg|\"|min)", reps):
        held = float(found[1]) * (60 if found[2] == "min" else 1)
        if held >= 60 * MOST_MINUTES:
            return f"is no time under load below {MOST_MINUTES} minutes"
        return [Piece(seconds=held)]
    if re.fullmatch(TIMES, reps):
        return [Piece(seconds=float(held)) for held in re.findall(r"\d+", reps)]
    if re.fullmatch(SIDED, reps):
        both = re.findall(r"(\d+)(s?)([lr])", reps)
        return [
            replace(
                Piece(seconds=float(number)) if held else Piece(reps=int(number)),
                sides="left" if side == "l" else "right",
                told=True,
            )
            for number, held, side in both
        ]
    if re.fullmatch(DISTANCE, reps) and (found := _METRES.fullmatch(reps)):
        if int(found[1]) < _SHORTEST_WAY:
            return "is neither a distance nor a time"
        return [Piece(note=reps)]
    if not re.fullmatch(r"\d{1,4}(?:[,/+\-]\d{1,4})*", reps):
        return "is not a number of reps"
    marks = set(re.sub(r"\d", "", reps))
    if len(marks) > 1:
        return "mixes signs between the reps"
    numbers = [int(part) for part in re.split(r"[,/+\-]", reps)]
    if any(number > MOST_REPS for number in numbers):
        return f"is more than {MOST_REPS} reps"
    if marks == {"-"} and len(numbers) == 2:
        return "is a range of reps, not the reps that were done"
    both_sides = marks == {"+"} and numbers[0] == numbers[-1] > MOST_CLUSTERED
    if len(numbers) == 2 and (marks == {"/"} or both_sides):
        return [Piece(reps=numbers[0], sides="left"), Piece(reps=numbers[1], sides="right")]
    if marks == {"+"} and max(numbers[1:]) > numbers[0]:
        return "goes on with more reps than it began with: write a load that was added with its unit"
    if marks == {"+"}:
        return [Piece(reps=n, role="rest_pause" if i else "working") for i, n in enumerate(numbers)]
    return [Piece(reps=number) for number in numbers]


def timed(words: str, *, listed: bool = False) -> str:
    """A tidied cell with ``3x40''`` as ``3x40s`` and ``3x1'30''`` as ``3x90s``, and so a list of times."""
    if not any(stroke in words for stroke in "'\"′”"):
        return words
    return (_HELD_LIST if listed else _HELD_SETS).sub(
        lambda found: f"{found[1]}{60 * int(found[2] or 0) + int(found[3] or found[4] or 0)}s", words
    )


def reps_in_signs(text: str, *, loaded: bool = True) -> str:
    """A cell of reps in signs of shorthand: ``8 8 7`` is a list; ``8 @9`` an RPE, with loads elsewhere."""
    words = timed(tidy(text), listed=True)
    if "x" in words or "/" in words:
        return words
    words = re.sub(r"(?<=\d) (?=\d)", ", ", words)
    return _RATED.sub(" rpe ", words) if loaded else words
