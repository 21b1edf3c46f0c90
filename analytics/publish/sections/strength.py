"""Strength: every lift in one table and a panel each, and families of swapped exercises."""

from __future__ import annotations

from typing import Any

import polars as pl

from analytics.charts import Report, lift_figure
from analytics.charts.look import STATES, state_words
from analytics.publish.sections.blocks import drawn, plain
from analytics.publish.show import Look, Shown, table, words


def lifts(report: Report) -> list[Shown]:
    """All lifts in one table, then a panel each, those that need attention first."""
    order = {"regressing": 0, "stalled": 1, "unsure": 2, "progressing": 3}
    ranked = (
        report["lifts"]
        .with_columns(order=pl.col("state").replace_strict(order), name=report.named("exercise"))
        .sort("order", "p_progressing", "name")
    )
    if ranked.is_empty():
        return [words("## Lifts\n\nNo set can tell strength yet.")]
    shown = [words("## Lifts"), table(_answers(ranked), _ANSWER_LOOK)]
    for row in ranked.iter_rows(named=True):
        title = f"### {plain(row['name'])}: {STATES[row['state']][2]}{_since(row, report)}"
        shown += [words(f"{title}\n\n{plain(row['why'])}"), drawn(lift_figure(report, row["exercise"]))]
    return shown


def families(report: Report) -> list[Shown]:
    """Movement families in which the athlete swapped exercises: the strength is in the family."""
    swapped = report["families"].filter(pl.col("exercises").str.contains(","))
    if swapped.is_empty():
        return []
    named = swapped.with_columns(name=report.named("family")).sort("name")
    text = "## Movement families\n\nSwapped exercises are read together: a swap is no progress and no loss."
    return [words(text), table(_answers(named), _ANSWER_LOOK)]


def _since(row: dict[str, Any], report: Report) -> str:
    """When the state began; for one that holds since the log began, how long that is."""
    if row["since"] is None or row["state"] == "unsure":
        return ""
    first = report["sessions"].filter(pl.col("exercise") == row["exercise"])["date"].min()
    weeks = (report.as_of - row["since"]).days // 7
    if (row["since"] - first).days < _FROM_THE_START:
        return f", all {weeks} weeks logged"
    return f", since {row['since']:%d %B %Y}"


_FROM_THE_START = 14
_ANSWER_LOOK = Look(
    labels={
        "strength": "estimated 1RM, kg",
        "slope": "% a week",
        "low": "low, % a week",
        "high": "high, % a week",
        "progressing": "probability progressing",
    },
    decimals={"slope": 2, "low": 2, "high": 2, "progressing": 2, "stalled": 2, "regressing": 2},
)


def _answers(rows: pl.DataFrame) -> pl.DataFrame:
    state = pl.col("state").replace_strict(state_words(STATES))
    return rows.select(
        lift="name",
        state=state,
        since=pl.when(pl.col("state") != "unsure").then("since"),
        strength=pl.format(
            "{} ({} to {})",
            *[pl.col(f"strength{end}_kg").round(0).cast(pl.Int32) for end in ("", "_low", "_high")],
        ),
        slope="slope_pct_per_week",
        low="slope_low",
        high="slope_high",
        progressing="p_progressing",
        stalled="p_stalled",
        regressing="p_regressing",
        sessions="sessions",
    )
