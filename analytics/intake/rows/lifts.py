"""Lifts: cells of load and of sets whose meaning the name of the lift beside them decides."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import polars as pl

from analytics.intake.cells.loads import is_band
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.reps import DISTANCE, parse_reps
from analytics.intake.cells.units import TIME_WORDS
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.columns.parts import combined
from analytics.intake.header.heading import normal
from analytics.intake.lookup import Texts
from analytics.intake.rows.problems import Problems
from analytics.intake.sheet.sheet import Sheet

_HELD, _HELPED = ([w for w, kind in meanings("lift").items() if kind == k] for k in ("held", "helped"))
_HOLDS, _MOVED = list(meanings("hold")), list(meanings("moved"))
_UNLOADED = list(meanings("unloaded"))
_TIMED = "Write the unit behind a time, such as 45 s"
_PLURAL = re.compile(r"(\d{1,3}(?:[.,]\d{1,2})?)'?s")
_WAY = re.compile(DISTANCE)
_COUNTED = re.compile(r"([1-5])\s?x\s?(\d{1,3})")


def by_lift(sheet: Sheet) -> Sheet:
    """The sheet with such cells in plain words.

    ``22.5s`` beside dumbbells is a pair; a band moves no load, so its colour goes to the note, unless it may
    help with the own weight, as at pull-ups; ``3x15`` push-ups are sets x reps, whatever else the file means;
    under ``Reps (holds: seconds)`` planks are timed; ``40 m`` among repetitions is a note.
    """
    fields: dict[str, Texts] = dict(sheet.fields)
    names, load, work = (fields.get(name) for name in ("exercise", "load", "work"))
    if names is None:
        return sheet
    if load is not None and any(text[-1] in "sS" and _PLURAL.fullmatch(tidy(text)) for text in load.written):
        fields["load"] = combined([names, load], _pair)
    if load is not None and any(is_band(text) for text in load.written):
        note = fields.get("note") or Texts.blank(len(load.ids))
        fields["note"] = combined([names, load, note], _with_band)
        fields["load"] = combined([names, fields["load"]], _without_band)
    if (reps := fields.get("reps")) and (unit := _time_of_holds(sheet)):
        fields["reps"] = combined([names, reps], partial(_held, unit))
    if (reps := fields.get("reps")) and any(map(_is_way, reps.written)):
        note = fields.get("note") or Texts.blank(len(reps.ids))
        fields["note"] = combined([reps, note], _with_way)
    if load is None and work is not None and any(_COUNTED.fullmatch(tidy(text)) for text in work.written):
        fields["work"] = combined([names, work], _counted)
    return replace(sheet, fields=fields)


def tell_untimed(rows: pl.DataFrame, past: pl.Series, sheet: Sheet, problems: Problems) -> None:
    """Set aside bare repetitions of a hold, such as a plank, whose other sets in the `past` have times."""
    holds = sheet.fields["exercise"].where(_is_hold)
    if holds is None or not (timed := holds & rows.get_column("seconds").is_not_null() & past).any():
        return
    lifts = rows.filter(timed).get_column("exercise").unique()
    bare = pl.col("reps").is_not_null() & pl.col("seconds").is_null()
    mask = rows.select(bare & pl.col("exercise").is_in(lifts.implode())).to_series() & holds
    if mask.any():
        problems.rows(mask, "reps", "reps", "may be a time: other sets of this hold have one", _TIMED)


def tell_ways(rows: pl.DataFrame, past: pl.Series, sheet: Sheet, problems: Problems) -> None:
    """Set aside ``40 m`` among repetitions where nothing was moved, of a hold (it may be minutes), and of a
    lift that has repetitions elsewhere in the `past`."""
    reps, load = sheet.fields.get("reps"), sheet.fields.get("load")
    ways = reps.where(_is_way) if reps else None
    if reps is None or ways is None:
        return
    mask = ways if load is None else ways & (load.ids == 0)
    if (holds := sheet.fields["exercise"].where(_is_hold)) is not None:
        mask |= ways & holds
    if (counted := reps.where(lambda text: text[0].isdigit() and not _is_way(text))) is not None:
        lifts = rows.filter(counted & past).get_column("exercise").unique()
        mask |= ways & rows.get_column("exercise").is_in(lifts.implode()).fill_null(False)
    if mask.any():
        problems.rows(mask, "reps", "reps", "is a distance", "Write the repetitions or the time")


def _is_way(text: str) -> bool:
    return _WAY.fullmatch(tidy(text)) is not None and parse_reps(text)[1] is None


def _is(name: str | None, lifts: Sequence[str]) -> bool:
    words = f" {plain(tidy(name).replace('-', ' '))} "
    return any(f" {word} " in words for word in lifts)


def _pair(name: str | None, load: str | None) -> str | None:
    found = _PLURAL.fullmatch(tidy(load))
    return f"2x{found[1]}" if found and _is(name, _HELD) else load


def _without_band(name: str | None, load: str | None) -> str | None:
    return None if load and is_band(load) and not _is(name, _HELPED) else load


def _with_band(name: str | None, load: str | None, note: str | None) -> str | None:
    if _without_band(name, load) == load:
        return note
    return f"{note}; {load}" if note else load


def _with_way(reps: str | None, note: str | None) -> str | None:
    return "; ".join(filter(None, (reps, note))) if reps and _is_way(reps) else note


def _time_of_holds(sheet: Sheet) -> str | None:
    """The unit of time that the name of a column of repetitions has."""
    named = [TIME_WORDS.get(word) for word in normal(sheet.header("reps")).split()]
    return next((unit for unit in ("s", "min") if unit in (sheet.units.get("reps"), *named)), None)


def _held(unit: str, name: str | None, reps: str | None) -> str | None:
    held = reps and tidy(reps).isdecimal() and name and _is_hold(name)
    return f"{reps} {unit}" if held else reps


def _is_hold(name: str) -> bool:
    return _is(name, _HOLDS) and not _is(name, _MOVED)


def _counted(name: str | None, work: str | None) -> str | None:
    found = _COUNTED.fullmatch(tidy(work))
    return ", ".join([found[2]] * int(found[1])) if found and _is(name, _UNLOADED) else work
