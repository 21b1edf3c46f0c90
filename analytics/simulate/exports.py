"""Exports: one athlete's sets as the text of a training log in the athlete's own style."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from itertools import groupby, zip_longest
from typing import Any

import polars as pl

from analytics.schema import KG_PER_LB
from analytics.simulate.style import LANGUAGES, ROLE_ORDER, Style, exercise_names

Row = dict[str, Any]


def export_text(sets: pl.DataFrame, style: Style) -> str:
    """The whole file.  `sets` holds one athlete's rows in training order, with their notes."""
    rows = sets.to_dicts()
    out = io.StringIO()
    writer = csv.writer(out, delimiter=style.delimiter, lineterminator=style.line_end)
    if style.title:
        writer.writerow([style.title])
    lines = {
        "rows": _rows,
        "shorthand": _shorthand,
        "sets_at": _sets_at,
        "numbered": _numbered,
        "blocks": _blocks,
    }[style.layout](rows, style)
    writer.writerows(lines)
    return out.getvalue()


def load_text(row: Row, style: Style, *, unit: bool = False) -> str:
    """A load as written: bodyweight exercises as BW, BW+10, BW-20; the decimal mark of the style."""
    factor = KG_PER_LB if style.unit == "lb" else 1.0
    if row["added_kg"] is not None:
        added = round(row["added_kg"] / factor, 2)
        return "BW" if added == 0 else f"BW{'+' if added > 0 else '-'}{_number(abs(added), style)}"
    return _number(round(row["load_kg"] / factor, 2), style) + (style.unit if unit else "")


def exercise_text(row: Row, style: Style) -> str:
    """The exercise in the athlete's language."""
    return str(exercise_names().get(style.language, {}).get(row["exercise"], row["exercise_as_logged"]))


def _number(value: float, style: Style) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".").replace(".", style.decimal)


def _effort(row: Row, style: Style) -> str:
    if style.effort == "none" or row["rir"] is None:
        return ""
    return _number(row["rir"] if style.effort == "rir" else 10 - row["rir"], style)


def _role(row: Row, style: Style) -> str:
    if style.roles == "warm_ups":
        return "W" if row["role"] == "warm_up" else ""
    return LANGUAGES[style.language].roles[ROLE_ORDER.index(row["role"])]


def _of_exercise(rows: list[Row]) -> Iterator[list[Row]]:
    for _, group in groupby(rows, key=lambda row: (row["date"], row["position"])):
        yield list(group)


def _in_turn(rows: list[Row]) -> Iterator[Row]:
    """The rows as they happened: the sets of a superset alternate."""
    for _, pair in groupby(
        _of_exercise(rows), key=lambda g: (g[0]["date"], g[0]["superset"] or g[0]["position"])
    ):
        for together in zip_longest(*pair):
            yield from (row for row in together if row is not None)


def _rows(rows: list[Row], style: Style) -> Iterator[list[str]]:
    words = LANGUAGES[style.language]
    sides = any(row["side"] for row in rows)
    pairs = any(row["superset"] for row in rows)
    load = words.load if style.unit_column else f"{words.load} ({style.unit})"
    head = [words.date, words.exercise, words.set_number, load]
    head += [words.unit] if style.unit_column else []
    head += [words.reps]
    head += [style.effort.upper()] if style.effort != "none" else []
    head += [words.role] if style.roles != "none" else []
    head += [f"{words.rest} (s)"] if style.rest else []
    head += [words.side] if sides else []
    head += [words.superset] if pairs else []
    yield [*head, words.note]
    for row in _in_turn(rows):
        cells = [row["date"].strftime(style.day), exercise_text(row, style), str(row["set_number"])]
        cells += [load_text(row, style)]
        cells += [style.unit] if style.unit_column else []
        cells += [str(row["reps"])]
        cells += [_effort(row, style)] if style.effort != "none" else []
        cells += [_role(row, style)] if style.roles != "none" else []
        cells += ["" if row["rest_s"] is None else _number(row["rest_s"], style)] if style.rest else []
        cells += [{"left": words.left, "right": words.right}.get(row["side"], "")] if sides else []
        cells += [row["superset"] or ""] if pairs else []
        yield [*cells, row["note"] or ""]


def _shorthand(rows: list[Row], style: Style) -> Iterator[list[str]]:
    """A row per exercise: load x reps each, drops behind a >."""
    words = LANGUAGES[style.language]
    yield [words.date, words.exercise, words.work, words.note]
    for group in _of_exercise(rows):
        text = ""
        for row in group:
            joint = " > " if row["role"] == "drop" else ("; " if style.decimal == "," else ", ")
            effort = _effort(row, style)
            said = f" @{style.effort.upper()}{effort}" if effort else ""
            text += (joint if text else "") + f"{load_text(row, style, unit=True)}x{row['reps']}{said}"
        yield [*_what(group, style), text, _notes(group)]


def _sets_at(rows: list[Row], style: Style) -> Iterator[list[str]]:
    """A row per exercise: sets x reps @ load, equal neighbours together."""
    words = LANGUAGES[style.language]
    yield [words.date, words.exercise, words.work, words.note]
    for group in _of_exercise(rows):
        alike = groupby(group, key=lambda row: (load_text(row, style, unit=True), row["reps"], row["rir"]))
        parts = []
        for (load, reps, _), members in alike:
            same = list(members)
            effort = _effort(same[0], style)
            said = f" {style.effort.upper()} {effort}" if effort else ""
            parts.append(f"{len(same)}x{reps}@{load}{said}")
        yield [*_what(group, style), ", ".join(parts), _notes(group)]


def _numbered(rows: list[Row], style: Style) -> Iterator[list[str]]:
    words = LANGUAGES[style.language]
    groups = list(_of_exercise(rows))
    most = max(len(group) for group in groups)
    short = style.language == "en"
    head = [words.date, words.exercise]
    for number in range(1, most + 1):
        if short:
            head += [f"W{number}", f"R{number}"]
        else:
            head += [f"{words.set_number} {number} {style.unit}", f"{words.set_number} {number} reps"]
    yield [*head, words.note]
    for group in groups:
        cells = _what(group, style)
        for row in group:
            cells += [load_text(row, style), str(row["reps"])]
        cells += [""] * (2 * (most - len(group)))
        yield [*cells, _notes(group)]


def _blocks(rows: list[Row], style: Style) -> Iterator[list[str]]:
    words = LANGUAGES[style.language]
    for day, session in groupby(rows, key=lambda row: row["date"]):
        yield [day.strftime(style.day)]
        for group in _of_exercise(list(session)):
            yield [exercise_text(group[0], style)]
            head = [words.set_number, f"{words.load} ({style.unit})", words.reps]
            head += [style.effort.upper()] if style.effort != "none" else []
            head += [words.role] if style.roles != "none" else []
            yield head
            for row in group:
                cells = [str(row["set_number"]), load_text(row, style), str(row["reps"])]
                cells += [_effort(row, style)] if style.effort != "none" else []
                cells += [_role(row, style)] if style.roles != "none" else []
                yield cells
        yield []


def _what(group: list[Row], style: Style) -> list[str]:
    return [group[0]["date"].strftime(style.day), exercise_text(group[0], style)]


def _notes(group: list[Row]) -> str:
    return "; ".join(row["note"] for row in group if row["note"])
