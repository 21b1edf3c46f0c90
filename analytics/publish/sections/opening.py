"""Opening: where the athlete stands, what matters this week, what changed, what to try."""

from __future__ import annotations

import polars as pl

from analytics.charts import Report
from analytics.publish.sections.blocks import CAUTIONED, plain
from analytics.publish.show import Look, Shown, table, words
from analytics.review import COUNTED, KINDS


def opening(report: Report) -> list[Shown]:
    """Where the athlete stands in the plan, the three things that matter, and what changed in a week."""
    who = report.who
    plan = [f"Phase: {who['phase']}." if who["phase"] else "No phase is set."]
    if who["stage_date"] is not None:
        day = f"{who['stage_date'].day} {who['stage_date']:%B %Y}"
        plan.append(f"Stage date {day}, {who['weeks_to_stage']:.0f} weeks away.")
    if who["priority"]:
        groups = ", ".join(report.word(muscle) for muscle in who["priority"].split(", "))
        plan.append(f"Priority: {groups}.")
    lines = [f"{row['rank']}. {plain(row['sentence'])}" for row in report["headlines"].to_dicts()]
    if report["bodyweight"].height:
        plan.append(report["bodyweight"].sort("date")["why"][-1])
    week = report["calendar"].filter(
        (pl.col("from") <= report.as_of) & (pl.lit(report.as_of) - pl.col("to") < pl.duration(days=7))
    )
    plan += [f"This week: {kind}." for kind in week["kind"].unique(maintain_order=True)]
    shown = [
        words(" ".join(plain(part) for part in plan)),
        words("## This week\n\n" + ("\n".join(lines) or "Nothing needs attention.")),
    ]
    return shown + _changes(report)


def _changes(report: Report) -> list[Shown]:
    changes = report["changes"]
    if changes.is_empty():
        return [words("## Changed since last week\n\nNo answer changed.")]
    lines = [
        f"- {plain(report.word(row['subject']))}: {plain(row['sentence'])}" for row in changes.to_dicts()
    ]
    return [words("## Changed since last week\n\n" + "\n".join(lines))]


def attention(report: Report) -> list[Shown]:
    """The athlete's entries of the coach's list, with what to try and what would change the call."""
    listed = report["attention"].filter("listed")
    if listed.is_empty():
        return [words("## What needs attention\n\nNothing on the coach's list is about this athlete.")]
    shown = listed.select(
        report.named("subject").str.replace(r"exports/[^/]+/", ""),
        what=pl.col("kind").replace_strict(KINDS, default=pl.col("kind")),
        probability=pl.when(pl.col("probability") < COUNTED).then("probability"),
        since="since",
        evidence="evidence",
        try_next="try_next",
        would_change="would_change",
    )
    labels = {
        "try_next": "what to try",
        "would_change": "what would change the call",
        "probability": "probability it is real",
    }
    return [
        words(f"## What needs attention\n\n{CAUTIONED}"),
        table(shown, Look(labels=labels, decimals={"probability": 2})),
    ]
