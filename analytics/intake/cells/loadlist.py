"""Load list: several loads in one cell, such as ``60/65/70``, beside as many reps."""

from __future__ import annotations

import re
from dataclasses import replace

from analytics.intake.cells.item import MOST_SETS
from analytics.intake.cells.loads import HIGHEST_LOAD_KG, SAME_LOAD, Load, parse_load
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.spoken import ARROW
from analytics.schema import KG_PER_LB


def parse_load_list(text: str | None, decimal: str) -> tuple[Load, ...] | None:
    """The loads of a cell such as ``60/65/70`` or ``60, 65, 70``; None where a part is no load.

    A comma without a space parts loads only in a file with a decimal point.  ``12/05`` is a day, and no list.
    """
    words = tidy(text.replace("\n", "; ") if text else text)
    marks = r"\s*[/;|]\s*|,\s+|" + ARROW.pattern + (r"|," if decimal == "point" else "")
    parts = re.split(marks, words)
    if len(parts) == 1 and words.count("-") >= 2:
        parts = words.split("-")
    if any(re.match(r"0\d", part) for part in parts):
        return None
    loads = tuple(parse_load(part, decimal) for part in parts if part)
    if not loads or len(loads) > MOST_SETS or any(load.problem or load.value is None for load in loads):
        return None
    unit = next((load.unit for load in reversed(loads) if load.unit), None)
    return tuple(replace(load, unit=load.unit or unit) for load in loads)


def open_list(text: str) -> str | None:
    """Why loads such as ``80,85,90`` cannot be told apart in a file with decimal commas; else None."""
    if not re.fullmatch(r"\d+(?:,\d+){2,}", tidy(text)):
        return None
    return "may be several loads or decimals: put a space or a slash between loads"


def comma_loads(text: str) -> int:
    """How many loads of one size ``60,65`` may be if its comma is no decimal mark; 0 where it is one load."""
    found = re.fullmatch(r"(\d+)((?:,\d+)+)", tidy(text))
    loads = [int(part) for part in text.split(",")] if found else []
    near = all(10 <= load <= HIGHEST_LOAD_KG and loads[0] < 3 * load < 9 * loads[0] for load in loads)
    return len(loads) if near else 0


def open_pair(loads: tuple[Load, ...]) -> str | None:
    """Why two loads such as ``22.5/22.5`` or ``100/220`` beside one set may be one load; else None."""
    if len(loads) != 2 or loads[0].unit != loads[1].unit:
        return None
    low, high = sorted(load.value or 0.0 for load in loads)
    if low == high:
        return "may be a pair, or the loads of two sets"
    same = abs(high * KG_PER_LB - low) <= SAME_LOAD * low
    return "may be one load in kg and in lb, or the loads of two sets" if same else None
