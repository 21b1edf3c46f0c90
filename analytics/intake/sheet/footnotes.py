"""Footnotes: what a line says of the lifts that bear its mark, ``* this machine is in lb``."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.units import OTHER_WORDS, UNIT_WORDS
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.columns.parts import combined
from analytics.intake.lookup import Texts
from analytics.intake.sheet.sheet import Sheet
from analytics.intake.source.grid import Grid

_MARK = r"\*{1,3}|[†‡¹²³]"
_MARKED = re.compile(rf"(\S.*?)\s*(?:\(({_MARK})\)|({_MARK}))")
_NOTE = re.compile(rf"\(?({_MARK})\)?\s*[:=]?\s*(\w.*)")
_CLAUSE, _REST = re.compile(r"[,;.]\s|\bund\b|\by\b|\bet\b"), frozenset(meanings("rest_of_them"))


def with_footnotes(sheet: Sheet, grid: Grid) -> Sheet:
    """The sheet with lifts without such marks: a footnote's unit counts for theirs, its words are their note.

    Only where a line without a set begins with the mark.  A clause about the rest is for all other lifts.
    """
    names = sheet.fields.get("exercise")
    found = {text: _MARKED.fullmatch(text) for text in names.written} if names else {}
    notes = _footnotes(sheet, grid) if any(found.values()) else {}
    marks = {text: mark for text, m in found.items() if m and (mark := m[2] or m[3]) in notes}
    if names is None or not marks:
        return sheet
    said = {mark: _units(note) for mark, note in notes.items() if mark in marks.values()}
    rest = next((others for _, others in said.values() if others), None)
    empty = Texts.blank(len(names.ids))
    own = {text: said[mark][0] for text, mark in marks.items()}
    fields = dict(sheet.fields)
    if rest or any(own.values()):
        fields["unit"] = combined(
            [names, fields.get("unit", empty)], lambda name, unit: unit or own.get(name) or rest
        )
    fields["note"] = combined(
        [names, fields.get("note", empty)],
        lambda name, note: "; ".join(filter(None, (note, notes.get(marks.get(name, ""))))) or None,
    )
    fields["exercise"] = combined([names], lambda name: _without_mark(name) if name in marks else name)
    told = (f"{mark} {note}"[:80] for mark, note in notes.items() if mark in said)
    return replace(sheet, fields=fields, remarks=(*sheet.remarks, *told))


def _footnotes(sheet: Sheet, grid: Grid) -> Mapping[str, str]:
    """Mark to the words behind it, of the lines that hold no set."""
    others = grid.cells.elsewhere(sheet.row).written()
    lines = (", ".join(filter(None, map(str.strip, filter(None, record)))) for record in others)
    return {found[1]: found[2] for line in lines if (found := _NOTE.fullmatch(line))}


def _units(note: str) -> tuple[str | None, str | None]:
    """(unit of the marked lifts, that of the rest) that a footnote says; another than kg and lb as it is."""
    own = rest = None
    for clause in _CLAUSE.split(plain(tidy(note))):
        words = re.findall(r"[^\W\d]+", clause)
        known = {UNIT_WORDS[word] for word in words if len(word) > 1 and word in UNIT_WORDS}
        named = known or {word for word in words if len(word) > 3 and word in OTHER_WORDS}
        unit = named.pop() if len(named) == 1 else None
        if _REST & set(words):
            rest = rest or unit
        else:
            own = own or unit
    return own, rest


def _without_mark(name: str) -> str:
    found = _MARKED.fullmatch(name)
    return found[1] if found else name
