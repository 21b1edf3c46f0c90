"""Sections: the parts of an athlete's page, each a list of words, tables and figures in reading order."""

from __future__ import annotations

import re
from pathlib import Path

import polars as pl

from analytics.charts import (
    Figure,
    Report,
    aims_figure,
    bodyweight_figure,
    curve_figure,
    drops_figure,
    girths_figure,
    lift_figure,
    response_figure,
    weeks_figure,
)
from analytics.charts.effort import chains, recent_hard_sets
from analytics.charts.look import MUSCLE_STATES, STATES, state_words
from analytics.publish.show import Look, Shown, figure, table, words
from analytics.review import KINDS
from analytics.strength import FORMULAS

_MARKDOWN = re.compile(r"([\\`*_{}\[\]()#+\-.!|<>~])")
_MOST_CURVES = 3


def load_tables(folder: str) -> dict[str, pl.DataFrame]:
    """Every table of a report's folder, by name."""
    return {path.stem: pl.read_parquet(path) for path in sorted(Path(folder).glob("*.parquet"))}


def plain(text: str) -> str:
    """Text from a log or a table, so that Markdown shows it letter by letter."""
    return _MARKDOWN.sub(r"\\\1", " ".join(text.split()))


def drawn(one: Figure) -> Shown:
    """A figure with its table."""
    return figure(one.chart, one.table, Look(decimals=one.decimals))


def opening(report: Report) -> list[Shown]:
    """Where the athlete stands in the plan, the three things that matter, and what changed in a week."""
    who = report.who
    plan = [f"Phase: {who['phase']}." if who["phase"] else "No phase is set."]
    if who["stage_date"] is not None:
        plan.append(f"Stage date {who['stage_date']:%d %B %Y}, {who['weeks_to_stage']:.0f} weeks away.")
    if who["priority"]:
        groups = ", ".join(report.word(muscle) for muscle in who["priority"].split(", "))
        plan.append(f"Priority: {groups}.")
    lines = [f"{row['rank']}. {plain(row['sentence'])}" for row in report["headlines"].to_dicts()]
    shown = [
        words(" ".join(plan)),
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
        report.named("subject"),
        what=pl.col("kind").replace_strict(KINDS, default=pl.col("kind")),
        probability=pl.when(~pl.col("subject_kind").is_in(["data", "bodyweight"])).then("probability"),
        since="since",
        evidence="evidence",
        try_next="try_next",
        would_change="would_change",
    )
    labels = {"try_next": "what to try", "would_change": "what would change the call"}
    return [words("## What needs attention"), table(shown, Look(labels=labels, decimals={"probability": 2}))]


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
        since = f", since {row['since']:%d %B %Y}" if row["since"] and row["state"] != "unsure" else ""
        title = f"### {plain(row['name'])}: {STATES[row['state']][2]}{since}"
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


_ANSWER_LOOK = Look(
    labels={
        "strength": "estimated 1RM, kg",
        "low_kg": "low, kg",
        "high_kg": "high, kg",
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
        strength="strength_kg",
        low_kg="strength_low_kg",
        high_kg="strength_high_kg",
        slope="slope_pct_per_week",
        low="slope_low",
        high="slope_high",
        progressing="p_progressing",
        stalled="p_stalled",
        regressing="p_regressing",
        sessions="sessions",
    )


def muscles(report: Report) -> list[Shown]:
    """Muscle groups: sets beside the aim, work against response, the weeks, and the balance of pairs."""
    if report["muscles"].is_empty():
        return [words("## Muscle groups\n\nNo set could be counted for a muscle group yet.")]
    named = report["muscles"].with_columns(name=report.named("muscle"))
    reasons = named.filter(~pl.col("state").is_in(["responding", "unsure"])).sort(
        "p_lagging", descending=True
    )
    lines = [
        f"- {plain(r['name'])}, {MUSCLE_STATES[r['state']][2]}: {plain(r['why'])}" for r in reasons.to_dicts()
    ]
    text = "\n".join(lines) or "No group is clearly behind or overdone."
    shown = [words(f"## Muscle groups\n\n{text}"), drawn(aims_figure(report))]
    if (
        report["muscles"]
        .filter(pl.col("response_pct_per_week").is_not_null() & pl.col("aim_low").is_not_null())
        .height
    ):
        shown.append(drawn(response_figure(report)))
    if not report["muscle_weeks"].is_empty():
        shown.append(drawn(weeks_figure(report)))
    if not report["balance"].is_empty():
        pairs = report["balance"].select(
            "pair",
            pl.col("kind").str.replace_all("_", " "),
            "ratio",
            low="ratio_low",
            high="ratio_high",
            basis="basis",
        )
        look = Look(
            caption="Balance of pairs, first over second, with 80 % intervals",
            decimals={"ratio": 2, "low": 2, "high": 2},
        )
        shown.append(table(pairs, look))
    return shown


def effort(report: Report) -> list[Shown]:
    """Drop chains and the load-repetition curves of the lifts with most recent hard sets."""
    shown = []
    if not chains(report).is_empty():
        shown.append(drawn(drops_figure(report)))
    counts = [(recent_hard_sets(report, row["exercise"]).height, row) for row in report["lifts"].to_dicts()]
    most = sorted(counts, key=lambda pair: (-pair[0], pair[1]["exercise"]))[:_MOST_CURVES]
    for count, row in most:
        if count >= 3:
            shown.append(drawn(curve_figure(report, row["exercise"])))
    return [words("## Effort"), *shown] if shown else []


def body(report: Report) -> list[Shown]:
    """Bodyweight with its rate beside the phase, girths, and session load where it was rated."""
    shown = []
    if not report["bodyweight"].is_empty():
        latest = report["bodyweight"].sort("date").row(-1, named=True)
        shown += [words(plain(latest["why"])), drawn(bodyweight_figure(report))]
    if report["checkins"].filter(pl.col("unit") == "cm").height:
        shown.append(drawn(girths_figure(report)))
    return [words("## Body"), *shown] if shown else []


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
    return [words(f"{text}\nPublished formulas to compare with: {plain(formulas)}.")]
