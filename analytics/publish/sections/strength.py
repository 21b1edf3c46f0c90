"""Strength: every lift in one table and a panel each, and families of swapped exercises."""

from __future__ import annotations

from typing import Any

import polars as pl

from analytics.charts import Report, lift_figure
from analytics.charts.standing import Standing, standing
from analytics.publish.sections.blocks import drawn, plain
from analytics.publish.show import Look, Shown, folded, table, words
from analytics.schema import KG_PER_LB
from analytics.strength import estimate_notes


def lifts(report: Report) -> list[Shown]:
    """All lifts in one table, then a panel each: what needs a decision first, what goes well folded."""
    ranked = (
        report["lifts"]
        .with_columns(order=pl.col("state").replace_strict(_ORDER), name=report.named("exercise"))
        .sort("order", "p_progressing", "name")
    )
    if ranked.is_empty():
        return [words("## Lifts\n\nNo set can tell strength yet.")]
    listed = set(report["attention"].filter("listed")["subject"])
    panels: dict[str, list[Shown]] = {}
    names: dict[str, list[str]] = {}
    for row in ranked.iter_rows(named=True):
        stand = standing(report, row)
        group = _group(row, stand, listed)
        panels.setdefault(group, []).extend(_panel(row, stand, report))
        names.setdefault(group, []).append(row["name"])
    shown = [
        words(_INTRODUCTION + _in_a_cut(report)),
        table(_answers(ranked, report), _ANSWER_LOOK),
        *panels.pop("", []),
    ]
    for group, own in panels.items():
        shown += folded(f"{group}: {', '.join(names[group])}", own)
    return shown


def _group(row: dict[str, Any], stand: Standing, listed: set[str]) -> str:
    """Under which words a lift that asks for no decision is folded; empty for one that does."""
    if stand.held or row["state"] == "progressing":
        return stand.word.capitalize()
    if row["state"] == "unsure" and not listed & {row["exercise"], row["family"]}:
        return "Unsure, nothing to decide yet"
    return ""


def _panel(row: dict[str, Any], stand: Standing, report: Report) -> list[Shown]:
    since = "" if stand.held else _since(row, report)
    held = (_held(report),) if stand.held else ()
    told = " ".join(plain(part) for part in (row["why"], *held, *_notes(row["exercise"], report)))
    title = f"### {plain(row['name'])}: {stand.word}{since}"
    return [words(f"{title}\n\n{told}"), drawn(lift_figure(report, row["exercise"]))]


def _in_a_cut(report: Report) -> str:
    return "".join(
        f"\n\nIn the {cut['phase']}, held means: it loses no faster than bodyweight explains, "
        f"{cut['limit_pct_per_week']:+.2f} % a week at most. A held lift may well regress a little."
        for cut in report["cuts"].to_dicts()
    )


def _held(report: Report) -> str:
    """Why a lift that may be losing is called held."""
    cut = report["cuts"].row(0, named=True)
    return (
        f"In the {cut['phase']} that is held: it loses no faster than bodyweight explains, "
        f"{cut['limit_pct_per_week']:+.2f} % a week at most."
    )


def _notes(exercise: str, report: Report) -> tuple[str, ...]:
    """What to know about an estimate from the repetitions that this lift was lately done for."""
    top = report.own("sessions", exercise).sort("date").tail(_RECENT)
    reps = top.select((pl.col("top_reps") + pl.col("top_rir").fill_null(0)).median()).item()
    return estimate_notes(exercise, reps or 0)


def families(report: Report) -> list[Shown]:
    """Movement families in which the athlete swapped exercises: the strength is in the family."""
    swapped = report["families"].filter(pl.col("exercises").str.contains(","))
    if swapped.is_empty():
        return []
    named = swapped.with_columns(name=report.named("family")).sort("name")
    text = "## Movement families\n\nSwapped exercises are read together: a swap is no progress and no loss."
    return [words(text), table(_answers(named, report), _ANSWER_LOOK)]


def _since(row: dict[str, Any], report: Report) -> str:
    """When the state began; for one that holds since the log began, how long that is."""
    if row["since"] is None or row["state"] == "unsure":
        return ""
    first = report["sessions"].filter(pl.col("exercise") == row["exercise"])["date"].min()
    weeks = (report.as_of - row["since"]).days // 7
    if (row["since"] - first).days < _FROM_THE_START:
        return f", all {weeks} weeks logged"
    return f", since {row['since'].day} {row['since']:%B %Y}"


_ORDER = {"regressing": 0, "stalled": 1, "unsure": 2, "progressing": 3}
_RECENT = 8
_FROM_THE_START = 14
_INTRODUCTION = """## Lifts

The line above each chart tells what was said at the end of each week, and from which day. The dashed upright
line is where the present state probably began, which shows only later."""
_ANSWER_LOOK = Look(
    labels={
        "strength": "estimated 1RM, kg",
        "pounds": "estimated 1RM, lb",
        "slope": "% a week",
        "low": "low, % a week",
        "high": "high, % a week",
        "progressing": "probability progressing",
    },
    decimals={"slope": 2, "low": 2, "high": 2, "progressing": 2, "stalled": 2, "regressing": 2},
)


def _answers(rows: pl.DataFrame, report: Report) -> pl.DataFrame:
    stands = [standing(report, row) for row in rows.to_dicts()]
    quiet = pl.Series([one.held for one in stands]) | (rows["state"] == "unsure")
    strength = [pl.col(f"strength{end}_kg") for end in ("", "_low", "_high")]
    pounds = {"pounds": _level([kg / KG_PER_LB for kg in strength])} if report.in_pounds else {}
    told = rows.select(
        lift="name",
        state=pl.Series([one.word for one in stands]),
        since=pl.when(~quiet).then("since"),
        strength=_level(strength),
        **pounds,
        slope="slope_pct_per_week",
        low="slope_low",
        high="slope_high",
        progressing="p_progressing",
        stalled="p_stalled",
        regressing="p_regressing",
        sessions="sessions",
    )
    return told.drop("since") if told["since"].is_null().all() else told


def _level(columns: list[pl.Expr]) -> pl.Expr:
    return pl.format("{}\u00a0({}\u00a0to\u00a0{})", *[column.round(0).cast(pl.Int32) for column in columns])
