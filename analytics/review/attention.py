"""Attention: the coach's list over the whole roster, most pressing first, cut at the limit on false names."""

from __future__ import annotations

from typing import Any

import polars as pl

from analytics.review.advice import Situation, suggest, what_would_change
from analytics.review.candidates import Candidate, candidates
from analytics.review.evidence import (
    Evidence,
    easy_this_week,
    first_days,
    last_easy_days,
    latest_decisions,
    main_muscles,
    muscle_lifts,
    rir_shares,
)
from analytics.schema import ATTENTION, CANDIDATES, conform

_PRIORITY_WEIGHT, _STAGE_WEIGHT, _LOSS_WEIGHT = 1.5, 1.25, 1.2
_STAGE_WEEKS = 12
_FOR_WANT_OF_WORK = ("too_little_work", "stalled", "doubtful")


def attention_list(evidence: Evidence) -> pl.DataFrame:
    """schema.ATTENTION of one roster: its candidates, weighed and cut at the roster's limit."""
    return cut_list(weigh_candidates(evidence), evidence.roster.false_share)


def weigh_candidates(evidence: Evidence) -> pl.DataFrame:
    """schema.CANDIDATES: every candidate of the athletes in `evidence`, with its urgency.

    Urgency is the probability, raised for the coach's priorities, for a near stage date and for strength that
    is being lost; work below an aim weighs by how much is missing, and a lift that stands still for want of
    it no more than its muscle group.  No athlete's rows depend on another's.
    """
    situations = _Situations(evidence)
    rows = [_row(candidate, situations) for candidate in candidates(evidence)]
    if not rows:
        return CANDIDATES.empty()
    frame = pl.DataFrame(rows, schema_overrides={"since": pl.Date}, infer_schema_length=None)
    return conform(frame, CANDIDATES)


def cut_list(frame: pl.DataFrame, limit: float) -> pl.DataFrame:
    """schema.ATTENTION: candidates of a whole roster; `listed` are those within the limit on false names.

    Candidates are ranked by probability and kept while the mean probability of being wrong stays within
    `limit` (the Bayesian form of a false discovery rate: Mueller, Parmigiani and Rice 2006, from memory).
    What is counted and not inferred (see Candidate) is always listed and does not count towards the share.
    What is listed is then ordered by urgency.
    """
    tie = ["athlete", "subject_kind", "subject", "kind"]
    best_first = frame.sort(["fact", "probability", *tie], descending=[True, True] + [False] * 4)
    wrong = (1 - pl.col("probability")).cum_sum().over("fact") / pl.int_range(1, pl.len() + 1).over("fact")
    marked = best_first.with_columns(expected_false_share=pl.when(~pl.col("fact")).then(wrong.clip(0, 1)))
    listed = marked.with_columns(listed=pl.col("fact") | (pl.col("expected_false_share") <= limit))
    ordered = listed.sort(["listed", "urgency", *tie], descending=[True, True] + [False] * 4)
    return conform(ordered.with_columns(rank=pl.int_range(1, pl.len() + 1)), ATTENTION)


def _row(candidate: Candidate, situations: _Situations) -> dict[str, object]:
    situation = situations.of(candidate)
    return {
        "athlete": candidate.athlete,
        "subject": candidate.subject,
        "subject_kind": candidate.subject_kind,
        "kind": candidate.kind,
        "probability": candidate.probability,
        "since": candidate.since,
        "evidence": candidate.evidence,
        "try_next": suggest(candidate.kind, situation),
        "would_change": what_would_change(candidate.kind, situation),
        "urgency": candidate.probability * situations.weight(candidate),
        "fact": candidate.counted,
    }


def _is_short(muscle: dict[str, Any]) -> bool:
    """Whether a group's sets are below the aim by every way of counting."""
    return {muscle.get(reading) for reading in ("state", "state_low", "state_high")} == {"underdosed"}


class _Situations:
    """What is known about each candidate beyond its trend, looked up once for the whole roster."""

    def __init__(self, evidence: Evidence) -> None:
        self._evidence = evidence
        self._rir = rir_shares(evidence)
        self._easy = last_easy_days(evidence)
        self._first = first_days(evidence)
        self._easy_now = easy_this_week(evidence)
        self._decisions = latest_decisions(evidence)
        self._main = main_muscles(evidence.catalogue)
        self._muscles = {
            (row["athlete"], row["muscle"]): row for row in evidence.muscles.iter_rows(named=True)
        }
        self._short: dict[str, list[tuple[frozenset[str], dict[str, Any]]]] = {}
        trained = muscle_lifts(evidence)
        for key, row in self._muscles.items():
            if _is_short(row) and key in trained:
                self._short.setdefault(key[0], []).append((trained[key], row))

    def of(self, candidate: Candidate) -> Situation:
        """The situation of one candidate."""
        athlete = self._evidence.roster.athlete(candidate.athlete)
        muscle = self._work(candidate)
        rest = self._easy.get(candidate.athlete) or self._first.get(candidate.athlete)
        return Situation(
            phase=athlete.phase_on(self._evidence.as_of),
            muscle=self._evidence.catalogue.muscle_name(muscle["muscle"]).lower() if muscle else "",
            weekly_sets=muscle.get("weekly_sets"),
            aim_low=muscle.get("aim_low"),
            aim_high=muscle.get("aim_high"),
            underdosed=muscle.get("state") == "underdosed",
            no_response="no_response" in candidate.tells or muscle.get("state") == "not_responding",
            rir_share=self._rir.get((candidate.athlete, candidate.group or ""), 0.0),
            weeks_since_easy=None if rest is None else (self._evidence.as_of - rest).days / 7,
            easy_now=candidate.athlete in self._easy_now,
            tried=self._tried(candidate),
        )

    def _tried(self, candidate: Candidate) -> str | None:
        subjects = (candidate.subject, candidate.group or "", *sorted(candidate.lifts))
        for subject in subjects:
            if (candidate.athlete, subject) in self._decisions:
                day, what = self._decisions[candidate.athlete, subject]
                lift = self._evidence.catalogue.exercises.get(subject)
                other = lift is not None and subject not in (candidate.subject, candidate.group)
                about = f", {lift.name}" if lift and other else ""
                return f"{day:%d %b}{about}: {what.rstrip('.')}"
        return None

    def weight(self, candidate: Candidate) -> float:
        """How much more pressing than its bare probability a candidate is."""
        athlete = self._evidence.roster.athlete(candidate.athlete)
        weight = _PRIORITY_WEIGHT if self._muscle(candidate) in athlete.priority else 1.0
        weeks = athlete.weeks_to_stage(self._evidence.as_of)
        if weeks is not None and 0 <= weeks <= _STAGE_WEEKS:
            weight *= _STAGE_WEIGHT
        if candidate.kind in ("losing_strength", "fast_weight_loss"):
            weight *= _LOSS_WEIGHT
        muscle = self._work(candidate)
        if _is_short(muscle) and muscle["aim_low"] and candidate.kind in _FOR_WANT_OF_WORK:
            weight *= 1 - muscle["weekly_sets"] / muscle["aim_low"]
        return weight

    def _work(self, candidate: Candidate) -> dict[str, Any]:
        """The row of the group that a candidate is or works; of a lift, one with too few sets first."""
        for lifts, row in self._short.get(candidate.athlete, ()):
            if lifts & candidate.lifts and candidate.subject_kind != "muscle":
                return row
        own = candidate.subject if candidate.counted else self._muscle(candidate)
        return self._muscles.get((candidate.athlete, own), {})

    def _muscle(self, candidate: Candidate) -> str:
        group = candidate.group or ""
        return self._main.get(group, group)
