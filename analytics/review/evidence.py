"""Evidence: the tables one review looks at, and the small sums it needs from them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import polars as pl

from analytics.catalogue import Catalogue
from analytics.roster import Roster
from analytics.schema import HARD_ROLES

RECENT_DAYS = 28
EASY_KINDS = ("deload", "layoff", "illness")


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """All tables of one run, as known on `as_of`."""

    as_of: date
    roster: Roster
    catalogue: Catalogue
    sets: pl.DataFrame
    ledger: pl.DataFrame
    calendar: pl.DataFrame
    decisions: pl.DataFrame
    lifts: pl.DataFrame
    families: pl.DataFrame
    muscles: pl.DataFrame
    bodyweight: pl.DataFrame


def rir_shares(evidence: Evidence) -> dict[tuple[str, str], float]:
    """Share of the last four weeks' hard sets that carry RIR, by athlete and family or lone exercise."""
    recent = evidence.sets.filter(
        (pl.col("date") > evidence.as_of - timedelta(days=RECENT_DAYS)) & pl.col("role").is_in(HARD_ROLES)
    )
    group = pl.coalesce("family", "exercise").alias("group")
    shares = recent.group_by("athlete", group).agg(share=pl.col("rir").is_not_null().mean())
    return {(athlete, name): share for athlete, name, share in shares.rows()}


def last_easy_days(evidence: Evidence) -> dict[str, date]:
    """Last day of each athlete's latest deload, layoff or illness that had begun by `as_of`."""
    easy = evidence.calendar.filter(pl.col("kind").is_in(EASY_KINDS) & (pl.col("from") <= evidence.as_of))
    last = easy.group_by("athlete").agg(pl.col("to").max().clip(upper_bound=evidence.as_of))
    return dict(last.rows())


def first_days(evidence: Evidence) -> dict[str, date]:
    """First logged day of each athlete."""
    return dict(evidence.sets.group_by("athlete").agg(pl.col("date").min()).rows())


def latest_weights(evidence: Evidence) -> list[dict[str, Any]]:
    """The last row of the bodyweight table with a known slope, one per athlete."""
    known = evidence.bodyweight.filter(pl.col("pct_per_week").is_not_null()).sort("athlete", "date")
    return known.unique("athlete", keep="last", maintain_order=True).to_dicts()


def muscle_lifts(evidence: Evidence) -> dict[tuple[str, str], frozenset[str]]:
    """The judged lifts that train a muscle group as a prime mover, by athlete and group."""
    direct = evidence.catalogue.shares().filter(pl.col("direct")).select("exercise", "muscle")
    rows = evidence.lifts.select("athlete", "exercise").join(direct, on="exercise").sort("athlete", "muscle")
    grouped = rows.group_by("athlete", "muscle", maintain_order=True).agg(pl.col("exercise"))
    return {(athlete, muscle): frozenset(lifts) for athlete, muscle, lifts in grouped.rows()}


def easy_this_week(evidence: Evidence) -> set[str]:
    """Athletes whose calendar holds a deload, layoff or illness in the seven days up to `as_of`."""
    week = (pl.col("from") <= evidence.as_of) & (pl.col("to") > evidence.as_of - timedelta(days=7))
    return set(evidence.calendar.filter(pl.col("kind").is_in(EASY_KINDS) & week)["athlete"])


def latest_decisions(evidence: Evidence) -> dict[tuple[str, str], tuple[date, str]]:
    """The coach's last decision of twelve weeks, by athlete and subject: its day and what was changed."""
    recent = evidence.decisions.filter(pl.col("date") > evidence.as_of - timedelta(weeks=12)).sort("date")
    return {
        (a, subject): (day, what)
        for day, a, subject, what in recent.select("date", "athlete", "subject", "what").rows()
    }


def main_muscles(catalogue: Catalogue) -> dict[str, str]:
    """The prime mover that most exercises of a family share, by family and by exercise."""
    direct = catalogue.shares().filter(pl.col("direct"))
    by_exercise = direct.group_by("exercise", maintain_order=True).agg(pl.col("muscle").first())
    families = {name: exercise.family for name, exercise in catalogue.exercises.items()}
    counted = (
        direct.with_columns(family=pl.col("exercise").replace_strict(families, return_dtype=pl.String))
        .group_by("family", "muscle")
        .len()
        .sort("family", "len", "muscle", descending=[False, True, False])
        .unique("family", keep="first", maintain_order=True)
    )
    return dict(by_exercise.rows()) | dict(counted.select("family", "muscle").rows())
