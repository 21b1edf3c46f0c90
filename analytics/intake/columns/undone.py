"""Undone: rows that say themselves that nothing was done, by a tick or in their note, or sum up others."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

import polars as pl

from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.remark import is_remark, sums_up
from analytics.intake.cells.vocabulary import column_names, meanings
from analytics.intake.cells.words import parse_answer
from analytics.intake.header.heading import Heading
from analytics.intake.lookup import Texts, all_of, any_of

_AMOUNTS = ("reps", "seconds", "work")
_WORDS = sorted((w for w, answer in meanings("answer").items() if answer == "no" and len(w) > 4), key=len)
_CROSSES = frozenset("✗✘❌xX×")
_MISSED = ("missed", "falsch", "false", "falso", "faux", "onwaar")
_SUM = re.compile(r"(?:sub|grand|zwischen|sous)?[ -]?(?:tot|sum|som|gesamt|tonn)")
_SKIPPED = re.compile(rf"(?:{'|'.join(map(re.escape, reversed(_WORDS)))})\b(?! (?:the )?(?:last|first|\d))")


def undone(headings: Sequence[Heading], columns: Mapping[int, Texts]) -> pl.Series | None:
    """The rows that were not ticked off, that say ``skipped`` for their reps, or begin their note with it."""
    masks = [unticked(columns[h.column]) for h in headings if h.field == "ticked"]
    masks += [columns[h.column].where(says_skipped) for h in headings if h.field == "skipped"]
    amounts = [columns[h.column].ids == 0 for h in headings if h.field in _AMOUNTS and h.set_number is None]
    if amounts and (empty := all_of(amounts)).any():
        for h in headings:
            skipped = columns[h.column].where(_says_skipped) if h.field == "note" else None
            masks.append(None if skipped is None else skipped & empty)
    said = [columns[h.column].where(_says_undone) for h in headings if h.field in ("reps", "work")]
    if not any(h.set_number for h in headings):
        masks += said
    told = [mask for mask in masks if mask is not None]
    return any_of(told) if told else None


def summing(headings: Sequence[Heading], columns: Mapping[int, Texts]) -> pl.Series | None:
    """The rows that sum up others, ``Total squat``, have ``Total`` as an amount or the note of no lift, or
    only rule a line, ``|---|---|``; or None."""
    named = next((columns[h.column] for h in headings if h.field == "exercise"), None)
    if named is None:
        return None
    names = {plain(tidy(text)) for text in named.written}
    told = [named.where(lambda text: sums_up(text, names))]
    for h in headings:
        test = _says_total if h.field in ("load", "added", "sets", *_AMOUNTS) else _notes_total
        said = columns[h.column].where(test) if test is _says_total or h.field == "note" else None
        told.append(None if said is None else said & (named.ids == 0))
    if named.where(_rules) is not None:
        amounts = [columns[h.column] for h in headings if h.field in ("load", "added", "sets", *_AMOUNTS)]
        ruled = [column.where(_rules, empty=True) for column in (named, *amounts)]
        lines = [mask for mask in ruled if mask is not None]
        told.append(all_of(lines) if len(lines) == len(ruled) else None)
    masks = [mask for mask in told if mask is not None]
    return any_of(masks) if masks else None


def _rules(text: str) -> bool:
    return len(text) > 2 and not text.strip("-–—:=_ ")


def _says_total(text: str) -> bool:
    return text[0].isalpha() and is_remark(text)


def _notes_total(text: str) -> bool:
    """As `_says_total` of a note, where a mean may be how the set felt: ``average``."""
    return _SUM.match(plain(text)) is not None and _says_total(text)


def unticked(ticks: Texts) -> pl.Series | None:
    """The rows that were not ticked off; None where there are none."""
    return ticks.where(lambda text: parse_answer(text) is False)


def says_skipped(text: str) -> bool:
    """Whether a cell under ``Skipped`` says so: by a tick, a cross, or the word itself."""
    words = plain(tidy(text)).strip(".! ")
    return parse_answer(text) is True or words in _CROSSES or words in column_names("sets")["skipped"]


def _says_undone(text: str) -> bool:
    """Whether a cell of reps or work says that nothing was done; a missed set may have been tried."""
    words = tidy(text)
    told = len(words) > 1 or words in "✗✘❌"
    return told and words not in _MISSED and not words[0].isdigit() and parse_answer(text) is False


def _says_skipped(note: str) -> bool:
    return _SKIPPED.match(plain(tidy(note))) is not None
