"""Check-ins: bodyweight, girths and session ratings of one file, in kg, cm, RPE and minutes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import polars as pl

from analytics.errors import BadExport
from analytics.intake.cells.dates import read_moment
from analytics.intake.cells.dayorder import decide_order
from analytics.intake.cells.effort import parse_seconds
from analytics.intake.cells.numbers import decimal_mark, parse_number, tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.units import LENGTH_WORDS, UNIT_WORDS
from analytics.intake.cells.words import parse_side
from analytics.intake.header.heading import Dictionary, Heading, dictionary
from analytics.intake.header.headline import read_headings
from analytics.intake.ledger import accepted
from analytics.intake.rows.problems import CURES, LATER, LATER_CURE
from analytics.intake.source.grid import read_grid
from analytics.intake.source.text import decode
from analytics.roster import Athlete
from analytics.schema import CHECKINS, KG_PER_LB, conform

GIRTHS = ("waist", "hips", "chest", "shoulders", "neck", "upper_arm", "forearm", "thigh", "calf")
PLAUSIBLE = {"kg": (20.0, 400.0), "cm": (10.0, 250.0), "rpe": (0.0, 10.0), "min": (1.0, 1440.0)}
_CURE = "Write a number with its unit, such as 80.5 kg or 36 cm"
_CM = {"cm": 1.0, "mm": 0.1, "in": 2.54, "m": 100.0}
"""An inch is 2.54 cm exactly (international yard and pound agreement of 1959; NIST SP 811, appendix B)."""


@dataclass(frozen=True, kw_only=True)
class CheckinFile:
    """One athlete's file: the check-ins up to the run's date, cells set aside, and its row of the ledger."""

    table: pl.DataFrame
    set_aside: pl.DataFrame
    ledger: pl.DataFrame


def read_checkins(
    raw: bytes, name: str, athlete: Athlete, known: Mapping[str, str], as_of: date
) -> CheckinFile:
    """The check-ins of one athlete's file.

    One row per date with a column per measure, or one row per measure with `measure` and `value`.  A girth
    without a unit anywhere is set aside; bodyweight falls back to the athlete's unit.  A bad cell is set
    aside alone, its neighbours count.  Raises BadExport.
    """
    text = decode(raw, name)
    grid = read_grid(text, name)
    records = grid.cells.written()
    lines = grid.cells.lines.to_list()
    at, headings = _header(records, known, name)
    when = next((h for h in headings if h.field == "date"), None)
    if when is None:
        raise BadExport(name, lines[at], "no column says the date", "Add a date column")
    body = [
        (line, record)
        for line, record in zip(lines[at + 1 :], records[at + 1 :], strict=True)
        if any(cell and cell.strip() for cell in record)
    ]
    days, order = _days(
        [(line, record[when.column] or "") for line, record in body], name, athlete.date_order
    )
    cells = [record[h.column] for _, record in body for h in headings if h is not when]
    decimal = decimal_mark(cells, "comma" if grid.delimiter == "semicolon" else "point")
    rows: list[tuple[object, ...]] = []
    aside: list[tuple[object, ...]] = []
    used: set[int] = set()
    for line, record in body:
        text_of_day = record[when.column] or ""
        day = days[text_of_day]
        if not isinstance(day, date) or day > as_of:
            told = ("date", day, CURES["date"]) if isinstance(day, str) else ("later", LATER, LATER_CURE)
            aside.append((athlete.id, name, line, when.text, text_of_day, *told))
            continue
        for h, measure, cell, unit, side in _values(record, headings):
            value, unit_out, problem = _value(cell, measure, unit, decimal, athlete.unit)
            if problem:
                aside.append((athlete.id, name, line, h.text, cell, "set", problem, _CURE))
            elif value is not None:
                rows.append((athlete.id, day, measure, side, value, unit_out))
                used.add(line)
    table = pl.DataFrame(rows, schema={c.name: c.dtype for c in CHECKINS.columns}, orient="row")
    facts = ("check-ins", text.encoding, grid.delimiter, order or "ymd", "")
    kept_out = {entry[2] for entry in aside} - used
    return CheckinFile(
        table=conform(table.unique(CHECKINS.key, keep="last", maintain_order=True), CHECKINS),
        set_aside=aside_frame(aside),
        ledger=accepted(name, athlete.id, facts, (len(records), len(used), len(kept_out), 0, 0), None),
    )


def _days(
    cells: list[tuple[int, str]], name: str, default: str | None
) -> tuple[dict[str, date | str], str | None]:
    """(day of each text, or why it is none; order of the file).  Raises BadExport where it is open."""
    moments = {text: read_moment(text) for _, text in cells}
    chosen = decide_order(sorted(moments), moments, default)
    if chosen.clash or chosen.needed:
        words = chosen.clash or (next(text for text in sorted(moments) if moments[text].by_order),)
        line = max(next(line for line, text in cells if text == word) for word in words)
        found = "contradict each other" if chosen.clash else "may be day first or month first"
        raise BadExport(
            name,
            line,
            f"dates {found}: {' and '.join(map(repr, words))}",
            "Write dates as 2026-01-31, or set date_order in roster.toml",
        )
    return {
        text: moment.day(chosen.order) or moment.problem or "is not a day of the calendar"
        for text, moment in moments.items()
    }, chosen.order


def aside_frame(rows: list[tuple[object, ...]]) -> pl.DataFrame:
    """Set-aside rows as a table."""
    names = ("athlete", "source_file", "source_row", "column", "cell", "kind", "reason", "cure")
    schema = {name: pl.Int32() if name == "source_row" else pl.String() for name in names}
    return pl.DataFrame(rows, schema=schema, orient="row")


def _header(
    records: Sequence[Sequence[str | None]], known: Mapping[str, str], name: str
) -> tuple[int, list[Heading]]:
    best: tuple[int, list[Heading]] = (-1, [])
    for at, record in enumerate(records[:60]):
        headings = read_headings(record, known)
        if len(headings) > max(1, len(best[1])):
            best = (at, headings)
    if best[0] < 0:
        raise BadExport(
            name,
            1,
            "no line names the columns of a check-in file",
            "Name them: date, bodyweight (kg), waist (cm)",
        )
    return best


def _values(
    record: Sequence[str | None], headings: list[Heading]
) -> list[tuple[Heading, str, str, str | None, str | None]]:
    """(heading, measure, cell, unit, side) of every filled measure of one record."""
    by = {h.field: h for h in headings}
    said_unit = tidy(record[by["unit"].column]) if "unit" in by else None
    said_side = parse_side(record[by["side"].column])[0] if "side" in by else None
    if "measure" in by and "value" in by:
        measure_text = plain(tidy(record[by["measure"].column]))
        value = by["value"]
        named = read_headings([measure_text], _MEASURES) if measure_text else []
        cell = record[value.column]
        if not named or not cell or not cell.strip():
            return []
        return [
            (
                value,
                named[0].field,
                cell,
                said_unit or named[0].unit or value.unit,
                named[0].side or said_side,
            )
        ]
    found = []
    for h in headings:
        cell = record[h.column]
        if (
            h.field in ("date", "athlete", "unit", "side", "note", "measure", "value")
            or not cell
            or not cell.strip()
        ):
            continue
        found.append(
            (h, h.field, cell, h.unit or said_unit, h.side or (said_side if h.field in GIRTHS else None))
        )
    return found


def _value(
    cell: str, measure: str, unit: str | None, decimal: str, default: str | None
) -> tuple[float | None, str, str | None]:
    words = tidy(cell)
    if words in ("-", "--", "n/a", "na", "none"):
        return None, "", None
    if measure == "session_minutes":
        seconds, problem = parse_seconds(cell, unit if unit in ("s", "min") else "min")
        return _plausible(None if seconds is None else seconds / 60, "min", problem)
    digits = words.rstrip("abcdefghijklmnopqrstuvwxyz\"'. ")
    own = words[len(digits) :].strip(" .")
    value = parse_number(digits.strip(), decimal)
    if value is None:
        return None, "", "is not a number"
    if measure == "session_rpe":
        return _plausible(value, "rpe", None)
    if measure == "bodyweight":
        said = UNIT_WORDS.get(own) or UNIT_WORDS.get(unit or "") or (None if own else default)
        if said is None:
            return None, "", "has no unit" if not own else f"has an unknown unit {own!r}"
        return _plausible(value * (KG_PER_LB if said == "lb" else 1), "kg", None)
    said = LENGTH_WORDS.get(own) or (LENGTH_WORDS.get(unit or "") if not own else None)
    if said is None:
        return None, "", "has no unit: cm, mm or in" if not own else f"has an unknown unit {own!r}"
    return _plausible(value * _CM[said], "cm", None)


def _plausible(value: float | None, unit: str, problem: str | None) -> tuple[float | None, str, str | None]:
    low, high = PLAUSIBLE[unit]
    if problem or value is None:
        return None, unit, problem
    if not low <= value <= high:
        return None, unit, f"is {value:g} {unit}, outside {low:g} to {high:g}"
    return value, unit, None


_MEASURES = Dictionary(
    {
        name: field
        for name, field in dictionary("checkins", {}).items()
        if field in (*GIRTHS, "bodyweight", "session_rpe", "session_minutes")
    }
)
