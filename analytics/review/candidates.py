"""Candidates: every subject of the roster that may need the coach, with the probability that it does."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import polars as pl
from scipy.special import ndtr

from analytics.review.evidence import Evidence, latest_weights

Z80 = 1.2815515655446004
"""Half width of a normal 80 % interval, in standard deviations."""
FORCE_EXPONENT = 0.67
"""Force scales with bodyweight to this power: Jaric 2002, Sports Med 32:615-631."""
LOSS_MARGIN_PCT = 0.1
"""% a week below what bodyweight explains before a loss in a cut counts as a loss (our choice)."""
SILENT_DAYS = 14
COUNTED = 1.0
"""Probability of what is counted and not inferred; no inference reaches it."""
_SUREST = 0.999
LIFT_KINDS = {"stalled": "stalled", "regressing": "losing_strength"}
MUSCLE_KINDS = {
    "underdosed": "too_little_work",
    "not_responding": "no_response",
    "overreaching": "too_much_work",
}


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """One possible entry; `group` is the family or muscle group it trains, where it trains one.

    A `counted` entry is no inference: sets below the coach's aim by every way of counting, a missing log, a
    refused file, a bodyweight that fell too fast.
    """

    athlete: str
    subject: str
    subject_kind: str
    kind: str
    probability: float
    evidence: str
    since: date | None = None
    group: str | None = None
    counted: bool = False


def candidates(evidence: Evidence) -> list[Candidate]:
    """All candidates of the roster, in the order of the tables."""
    return [*_lifts(evidence), *_muscles(evidence), *_bodyweight(evidence), *_data(evidence)]


def _lifts(evidence: Evidence) -> Iterator[Candidate]:
    """One entry per family (or per exercise outside every family) that probably needs the coach."""
    loss = _explained_loss(evidence)
    alone = evidence.lifts.filter(pl.col("family").is_null()).with_columns(subject=pl.col("exercise"))
    families = evidence.families.with_columns(
        subject=pl.when(pl.col("exercises").str.contains(",")).then("family").otherwise("exercises")
    )
    for frame in (families, alone):
        for row in frame.iter_rows(named=True):
            phase = evidence.roster.athlete(row["athlete"]).phase_on(evidence.as_of)
            if phase in ("cut", "peak"):
                explained = loss.get(row["athlete"], 0.0)
                kind, probability = (
                    "losing_strength",
                    _probability_below(row, min(explained, 0.0) - LOSS_MARGIN_PCT),
                )
            else:
                kind = LIFT_KINDS.get(row["state"], "doubtful")
                probability = row["p_stalled"] + row["p_regressing"]
            several = "," in (row.get("exercises") or "")
            yield Candidate(
                athlete=row["athlete"],
                subject=row["subject"],
                subject_kind="family" if several else "lift",
                kind=kind,
                probability=min(max(probability, 0.0), _SUREST),
                since=row["since"] if row["state"] in ("stalled", "regressing") else None,
                evidence=row["why"],
                group=row["family"] or row["exercise"],
            )


def _probability_below(row: Mapping[str, Any], limit: float) -> float:
    """Probability that the slope lies below `limit`, both in % a week, from its 80 % interval."""
    sd = (row["slope_high"] - row["slope_low"]) / (2 * Z80)
    return float(ndtr((limit - row["slope_pct_per_week"]) / max(sd, 1e-9)))


def _explained_loss(evidence: Evidence) -> dict[str, float]:
    """Strength slope that the present bodyweight slope explains, % a week, by athlete."""
    return {row["athlete"]: FORCE_EXPONENT * row["pct_per_week"] for row in latest_weights(evidence)}


def _muscles(evidence: Evidence) -> Iterator[Candidate]:
    for row in evidence.muscles.iter_rows(named=True):
        kind = MUSCLE_KINDS.get(row["state"], "behind")
        if row["state"] == "responding" or row["p_lagging"] is None:
            continue
        counted = row["state"] == row["state_low"] == row["state_high"] == "underdosed"
        yield Candidate(
            athlete=row["athlete"],
            subject=row["muscle"],
            subject_kind="muscle",
            kind=kind,
            probability=COUNTED if counted else min(row["p_lagging"], _SUREST),
            counted=counted,
            evidence=row["why"],
            group=row["muscle"],
        )


def _bodyweight(evidence: Evidence) -> Iterator[Candidate]:
    for row in latest_weights(evidence):
        if row["caution"]:
            yield Candidate(
                athlete=row["athlete"],
                subject="bodyweight",
                subject_kind="bodyweight",
                kind="fast_weight_loss",
                probability=COUNTED,
                evidence=row["why"],
                counted=True,
            )


def _data(evidence: Evidence) -> Iterator[Candidate]:
    last = dict(evidence.sets.group_by("athlete").agg(pl.col("date").max()).rows())
    for athlete in evidence.roster.athletes:
        day = last.get(athlete.id)
        if day is None or (evidence.as_of - day).days >= SILENT_DAYS:
            words = "Nothing could be read yet." if day is None else f"The last set is of {day:%d %B %Y}."
            yield _fact(athlete.id, "training log", "no_recent_log", words, day)
    for row in evidence.ledger.filter(pl.col("outcome") == "refused").iter_rows(named=True):
        if row["athlete"] is not None:
            yield _fact(
                row["athlete"], row["source_file"], "unreadable_file", row["message"] or "It was refused."
            )
    recent = evidence.sets.filter(pl.col("suspect") & (pl.col("date") > evidence.as_of - timedelta(days=7)))
    for athlete, rows in recent.group_by("athlete").len().sort("athlete").rows():
        words = (
            f"{rows} of this week's sets lie far from everything logged before and are left out of strength."
        )
        yield _fact(athlete, "training log", "unlikely_rows", words)


def _fact(athlete: str, subject: str, kind: str, words: str, since: date | None = None) -> Candidate:
    return Candidate(
        athlete=athlete,
        subject=subject,
        subject_kind="data",
        kind=kind,
        probability=COUNTED,
        evidence=words,
        since=since,
        counted=True,
    )
