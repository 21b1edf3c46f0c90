"""Tags: what stands around the numbers of one set in shorthand: role, effort, failure, side, a note."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from analytics.intake.cells.effort import parse_rir, parse_rpe, rir_of_rpe
from analytics.intake.cells.effortlist import effort_list
from analytics.intake.cells.reps import Piece
from analytics.intake.cells.units import UNIT_WORDS
from analytics.intake.cells.words import is_failure, parse_role, parse_side

_LABEL = re.compile(
    r"(?:(?:set|satz|serie|série|s)\s?\d{1,2}\s*[:.)\-]|\d{1,2}\)|(?:[1-9]|1[0-2])\.\s(?=\d\d))\s*(?=\S)"
)
_FIRST = re.compile(r"([^\W\d_][^\d:@x]{0,24}?)(\s*[:.]\s*|\s+|(?<=w)|(?<=wu))(?=[+-]?\d|bw)")
_ROLE_LAST = re.compile(
    r"(?<=[\d\s)a-z])\s*\(?\b(w|wu|w/u|warm[- ]?up|d|drop|ds|back[- ]?off|bo|top set|top|rp)\)?$"
)
_RATED = r"(?:(rpe|rir)\s*:?\s*-?(\d+(?:[.,]\d+)?)|(\d+(?:[.,]\d+)?)\s*(rpe|rir))"
_EFFORT = re.compile(rf"(?:@|\bat\b|,|\()?\s*{_RATED}\s*\)?\s*$|[(\[]\s*{_RATED}\s*[)\]]")
_EFFORTS = re.compile(r"\s*[@,(]?\s*(rpe|rir)\s*:?\s*(\d+(?:[.,]5)?(?:\s?[-/,]\s?\d+(?:[.,]5)?)+)\)?$")
_FAILED = re.compile(r"(?<=[\d\s])(?:f|!|\*|to failure|failure|fallo|versagen|echec|cedimento|falha|amrap)$")
_TO_FAILURE = re.compile(r"(?<=[\dg)])\s+([^\W\d_][^\d@x]{3,24})$")
_EACH = re.compile(
    r"(?<=\d)\s*/?\s*\(?\b(?:(?:each|per|je|pro|por|par|cada|elk)\s*(?:side|leg|arm|seite|bein|arm|lado|pierna|brazo"
    r"|perna|côté|cote|jambe|bras|lato|gamba|braccio|kant|been)|each|ea|e/s|side|leg)\)?(?=$|\s*@|\s+\d)"
)
_SIDE = re.compile(
    r"(?<=\d)\s*(?:\(([lr]|[^\W\d_]{2,9})\)|\b([^\W\d_]{2,9}))$|^(?:([lr])\s*[:.]|([^\W\d_]{2,9})\s*[:.]?)\s*(?=\d)"
)
_NOTE = re.compile(r"\s*[(\[]\s*([^()\[\]\d@]{2,40}?)\s*[)\]]$")


@dataclass(frozen=True, slots=True)
class Tags:
    """What was told of every set of an item; `failed` concerns the last one only."""

    role: str | None = None
    rir: float | None = None
    failed: bool = False
    side: str | None = None
    notes: tuple[str, ...] = ()
    efforts: tuple[float | None, ...] = ()
    listed: str = ""

    def on(self, sets: list[Piece]) -> tuple[Piece, ...]:
        """The sets with these tags; what a set says itself wins.  The first of ``RP`` is a working set."""
        result = []
        each = len(self.efforts) == len(sets)
        for i, piece in enumerate(sets):
            rir = 0.0 if self.failed and i == len(sets) - 1 else self.rir
            rir = self.efforts[i] if each else rir
            head = self.role == "rest_pause" and i == 0 and len(sets) > 1
            said = [*([piece.note] if piece.note else []), *self.notes]
            said += [self.listed] if self.listed and not each else []
            result.append(
                replace(
                    piece,
                    rir=rir if piece.rir is None else piece.rir,
                    role=piece.role or ("working" if head else self.role),
                    sides=piece.sides or self.side,
                    told=piece.told or bool(self.side and not piece.sides),
                    note="; ".join(said) or None,
                )
            )
        return tuple(result)


def take_tags(item: str) -> tuple[str, Tags] | str:
    """(the numbers that are left, the tags) of one item in lower case, or why it cannot be read."""
    role: str | None = None
    side: str | None = None
    rir: float | None = None
    notes: list[str] = []
    if found := _LABEL.match(item):
        item = item[found.end() :]
    if (found := _FIRST.match(item)) and (role := parse_role(found[1].strip(" -"))[0]):
        item = item[found.end() :]
    failed = False
    while (found := _NOTE.search(item)) and not parse_side(found[1])[0] and not _EACH.search(item):
        said, fails, _ = parse_role(found[1])
        role, failed = said or role, fails or failed
        if not said and not fails:
            notes.insert(0, found[1])
        item = item[: found.start()]
    if found := _ROLE_LAST.search(item):
        role = parse_role(found[1])[0]
        item = item[: found.start()].strip()
    efforts: tuple[float | None, ...] = ()
    listed = ""
    if found := _EFFORTS.search(item):
        efforts, listed = effort_list(found[2], found[1]), f"{found[1].upper()} {found[2]}"
        rir = None if efforts else (parse_rir if found[1] == "rir" else parse_rpe)(found[2], "point")[0]
        listed = "" if rir is not None else listed
        item = item[: found.start()]
    elif found := _EFFORT.search(item):
        kind, value = [part for part in found.groups() if part]
        kind, value = (kind, value) if kind.isalpha() else (value, kind)
        amount = float(value.replace(",", "."))
        if amount > 10:
            return f"{kind.upper()} {amount:g} is above 10"
        rir = amount if kind == "rir" else rir_of_rpe(amount)
        if rir is None:
            notes.append(f"RPE {amount:g}")
        item = f"{item[: found.start()].strip(' ,(')} {item[found.end() :].strip()}".strip()
    if ((found := _TO_FAILURE.search(item)) and is_failure(found[1])) or (found := _FAILED.search(item)):
        failed = True
        item = item[: found.start()].strip()
    if found := _EACH.search(item):
        notes.append(found[0].strip(" /()"))
        item = item[: found.start()] + item[found.end() :]
    elif (found := _SIDE.search(item)) and (
        word := next(part for part in found.groups() if part)
    ) not in UNIT_WORDS:
        side = parse_side(word)[0]
        if side:
            item = f"{item[: found.start()]}{item[found.end() :]}".strip()
    return item, Tags(
        role=role, rir=rir, failed=failed, side=side, notes=tuple(notes), efforts=efforts, listed=listed
    )
