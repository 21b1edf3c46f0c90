"""Work: muscle groups beside their aims, drop chains and load-repetition curves, and the body."""

from __future__ import annotations

import polars as pl

from analytics.charts import (
    Report,
    aims_figure,
    bodyweight_figure,
    curve_figure,
    drops_figure,
    girths_figure,
    response_figure,
    weeks_figure,
)
from analytics.charts.effort import FEWEST_CHAINS, chains, recent_hard_sets
from analytics.charts.look import MUSCLE_STATES
from analytics.publish.sections.blocks import drawn, plain
from analytics.publish.show import Look, Shown, table, words

_MOST_CURVES = 3
_LOAD_DAYS = 14


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
    for phase in report["cuts"]["phase"]:
        text += f"\n\nIn the {phase}, responding means: its lifts fall no faster than bodyweight explains."
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
            caption="Balance of pairs, first over second. No norm is published: watch how it moves",
            decimals={"ratio": 2, "low": 2, "high": 2},
        )
        shown.append(table(pairs, look))
    return shown


def effort(report: Report) -> list[Shown]:
    """Drop chains and the load-repetition curves of the lifts that need a look first."""
    shown = []
    if chains(report).filter(pl.col("chains") >= FEWEST_CHAINS).height:
        shown.append(drawn(drops_figure(report)))
    counts = [(recent_hard_sets(report, row["exercise"]).height, row) for row in report["lifts"].to_dicts()]
    most = sorted(counts, key=lambda pair: (pair[1]["p_progressing"], pair[1]["exercise"]))[:_MOST_CURVES]
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
    if not report["session_load"].is_empty():
        days = report["session_load"].sort("date", descending=True).head(_LOAD_DAYS)
        look = Look(
            caption="Session load: session RPE times minutes, sums over the seven days that end on each day",
            decimals={"load": 0, "week_load": 0, "monotony": 2, "strain": 0},
        )
        shown.append(table(days.drop("athlete"), look))
    return [words("## Body"), *shown] if shown else []
