"""Plans: the coach's calendar and decisions, two small files of a fixed form."""

from __future__ import annotations

import csv
import io
from datetime import date

import polars as pl

from analytics.errors import BadExport
from analytics.intake.cells.dates import read_moment
from analytics.intake.checkins import aside_frame
from analytics.intake.rows.problems import LATER, LATER_CURE
from analytics.intake.source.delimiter import find_delimiter
from analytics.intake.source.text import decode
from analytics.roster import Roster
from analytics.schema import CALENDAR, CALENDAR_KINDS, DECISIONS, Table, conform

_Found = tuple[pl.DataFrame, pl.DataFrame]


def read_calendar(raw: bytes | None, name: str, roster: Roster, as_of: date) -> _Found:
    """(calendar, cells set aside) of `calendar.csv`; `as_of` hides nothing, because plans lie ahead."""
    rows: list[tuple[object, ...]] = []
    aside: list[tuple[object, ...]] = []
    for line, entry in _entries(raw, name, ("athlete", "from", "kind")):
        start, end = _day(entry["from"]), _day(entry.get("to") or entry["from"])
        athlete = _athlete(entry["athlete"], roster)
        kind = (entry["kind"] or "").strip().lower()
        problem = _problem(
            ("athlete", "athlete", entry["athlete"], athlete),
            ("from", "date", entry["from"], start),
            ("to", "date", entry.get("to"), end),
            ("kind", "set", entry["kind"], kind if kind in CALENDAR_KINDS else None),
        )
        if problem is None and start and end and end < start:
            problem = ("to", "date", entry.get("to"), "is before the first day", "Write the last day")
        if problem:
            column, what, cell, reason, cure = problem
            aside.append((athlete, name, line, column, cell, what, reason, cure))
        else:
            rows.append((athlete, start, end, kind, (entry.get("note") or "").strip() or None))
    return _table(rows, CALENDAR), aside_frame(aside)


def read_decisions(raw: bytes | None, name: str, roster: Roster, as_of: date) -> _Found:
    """(decisions up to `as_of`, cells set aside) of `decisions.csv`."""
    rows: list[tuple[object, ...]] = []
    aside: list[tuple[object, ...]] = []
    for line, entry in _entries(raw, name, ("date", "athlete", "what")):
        day, athlete = _day(entry["date"]), _athlete(entry["athlete"], roster)
        subject = (
            next(
                (entry[key] for key in ("subject", "lift", "muscle", "lift or muscle") if entry.get(key)), ""
            )
            or ""
        )
        problem = _problem(
            ("date", "date", entry["date"], day),
            ("athlete", "athlete", entry["athlete"], athlete),
            ("subject", "exercise", subject, subject.strip() or None),
            ("what", "set", entry["what"], (entry["what"] or "").strip() or None),
        )
        if problem is None and day and day > as_of:
            problem = (
                "date",
                "later",
                entry["date"],
                LATER,
                LATER_CURE,
            )
        if problem:
            column, what, cell, reason, cure = problem
            aside.append((athlete, name, line, column, cell, what, reason, cure))
        else:
            rows.append(
                (
                    day,
                    athlete,
                    subject.strip(),
                    (entry["what"] or "").strip(),
                    (entry.get("why") or "").strip() or None,
                )
            )
    return _table(rows, DECISIONS), aside_frame(aside)


def _entries(
    raw: bytes | None, name: str, needed: tuple[str, ...]
) -> list[tuple[int, dict[str, str | None]]]:
    if raw is None:
        return []
    text = decode(raw, name).utf8.decode("utf-8", errors="replace")
    reader = csv.reader(io.StringIO(text), delimiter=find_delimiter(text[:20_000]))
    entries: list[tuple[int, dict[str, str | None]]] = []
    header: list[str] | None = None
    try:
        for record in reader:
            cells = [cell.strip() for cell in record]
            if not any(cells) or cells[0].startswith("#"):
                continue
            if header is None:
                header = [cell.lower() for cell in cells]
                missing = [key for key in needed if key not in header]
                if missing:
                    raise BadExport(
                        name,
                        reader.line_num,
                        f"there is no column {missing[0]!r}",
                        f"Name the columns {', '.join(needed)}",
                    )
                continue
            entries.append(
                (reader.line_num, dict(zip(header, [*cells, *[None] * len(header)], strict=False)))
            )
    except csv.Error as problem:
        raise BadExport(name, reader.line_num, f"is not a table ({problem})", "Save it as CSV") from problem
    return entries


def _problem(*checked: tuple[str, str, str | None, object]) -> tuple[str, str, str | None, str, str] | None:
    for column, kind, cell, value in checked:
        if value is None:
            cures = {
                "date": "Write the day as 2026-01-31",
                "athlete": "Write the athlete's id as in roster.toml",
            }
            cure = cures.get(
                kind, f"Write one of {', '.join(CALENDAR_KINDS)}" if column == "kind" else "Fill it in"
            )
            return (
                column,
                kind,
                cell,
                "is empty" if not cell else "is not known" if kind != "date" else "is not a date",
                cure,
            )
    return None


def _day(text: str | None) -> date | None:
    return read_moment(text).fixed if text else None


def _athlete(text: str | None, roster: Roster) -> str | None:
    return roster.ids.get((text or "").strip().lower())


def _table(rows: list[tuple[object, ...]], table: Table) -> pl.DataFrame:
    frame = pl.DataFrame(rows, schema={c.name: c.dtype for c in table.columns}, orient="row")
    return conform(frame.unique(table.key, keep="last", maintain_order=True), table)
