"""Source: the files, rows and method behind a page."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from analytics.charts import Report
from analytics.publish.sections.blocks import plain
from analytics.publish.show import Look, Shown, closed, table, words
from analytics.strength import FORMULAS


def data(report: Report) -> list[Shown]:
    """What was read and what was not: files, rows set aside, unlikely sets and exercises nobody knows."""
    shown = [words("## Data behind this page")]
    files = report["ledger"].select(
        "source_file",
        "outcome",
        "layout",
        "unit",
        "date_order",
        "rows_read",
        "rows_used",
        "rows_set_aside",
        "rows_duplicate",
        "rows_not_a_set",
        "message",
    )
    shown.append(table(files, Look(caption="Files, every row accounted for")))
    faults = (
        report["set_aside"]
        .filter(pl.col("kind") != "later")
        .select("source_file", "source_row", "cell", "reason", "cure")
    )
    if faults.height:
        shown.append(table(faults, Look(caption="Rows set aside")))
    odd = (
        report["sets"]
        .filter("suspect")
        .select("date", report.named("exercise"), "load_kg", "reps", "source_file", "source_row")
    )
    if odd.height:
        shown.append(
            table(odd, Look(caption="Unlikely sets, kept but left out of strength", decimals={"reps": 0}))
        )
    if report["unknown_exercises"].height:
        unknown = report["unknown_exercises"].drop("athlete")
        shown.append(
            table(unknown, Look(caption="Exercises not in the catalogue, left out of muscle counts"))
        )
    return shown


def method(report: Report) -> list[Shown]:
    """How the numbers are made, for the coach who asks."""
    text = Path(__file__).with_name("method.md").read_text(encoding="utf-8")
    formulas = "; ".join(f"{formula.name} ({formula.source})" for formula in FORMULAS.values())
    return [closed("How the numbers are made", f"{text}\nPublished formulas: {plain(formulas)}.")]
