"""Candidates: every subject of the roster that may need the coach, with the probability that it does."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

import polars as pl

from analytics.review.advice import KINDS
from analytics.review.cut import loss_limits, probability_below
from analytics.review.evidence import Evidence, latest_weights, muscle_lifts

SILENT_DAYS = 14
COUNTED = 1.0
"""Probability of what is counted and not inferred; no inference reaches it."""
_SUREST = 0.999
_LIKELY = 0.5
LIFT_KINDS = {"stalled": "stalled", "regressing": "losing_strength"}
MUSCLE_KINDS = {
    "underdosed": "too_little_work",
    "not_responding": "no_response",
    "overreaching": "too_much_work",
}


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """One possible entry; `group` is the family or muscle group, `lifts` what it rests on.

    A `counted` entry is no inference: sets below the coach's aim by every way of counting, a missing log, a
    refused file, a bodyweight that fell too fast.  `tells` are the kinds of the muscle groups whose lifts it
    tells.
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
    lifts: frozenset[str] = frozenset()
    tells: frozenset[str] = frozenset()


def candidates(evidence: Evidence) -> list[Candidate]:
    """All candidates of the roster, each cause once.

    Muscle groups that rest on the same lifts of one athlete are one cause, told by the group likeliest to be
    behind; and where every lift of a group is itself a likely candidate, the likeliest of them tells it.
    """
    lifts, told, silent = list(_lifts(evidence)), [], []
    likely: dict[str, set[str]] = {}
    for one in lifts:
        if one.probability >= _LIKELY:
            likely.setdefault(one.athlete, set()).update(one.lifts)
    seen: dict[str, list[frozenset[str]]] = {}
    muscles = list(_muscles(evidence))
    for one in sorted(muscles, key=lambda m: (not m.counted, -m.probability, m.athlete, m.subject)):
        others = seen.setdefault(one.athlete, [])
        repeated = one.lifts and (one.lifts <= likely.get(one.athlete, set()) or one.lifts in others)
        if one.counted or not repeated:
            told.append(one)
            others.append(one.lifts)
        elif one.kind in MUSCLE_KINDS.values() and one.lifts <= likely.get(one.athlete, set()):
            silent.append(one)
    lifts = _telling(lifts, silent, evidence)
    return [*lifts, *told, *_bodyweight(evidence), *_data(evidence)]


def _telling(lifts: list[Candidate], silent: list[Candidate], evidence: Evidence) -> list[Candidate]:
    """The lifts, each with the muscle groups that it tells at the end of its evidence."""
    groups: dict[int, list[Candidate]] = {}
    for group in silent:
        able = [i for i, one in enumerate(lifts) if one.athlete == group.athlete and one.lifts & group.lifts]
        groups.setdefault(max(able, key=lambda i: lifts[i].probability), []).append(group)
    found = list(lifts)
    for i, own in groups.items():
        kinds = sorted({one.kind for one in own})
        words = [_groups_words([one for one in own if one.kind == kind], evidence) for kind in kinds]
        told = " ".join([lifts[i].evidence, *words])
        found[i] = replace(lifts[i], evidence=told, tells=frozenset(kinds))
    return found


def _groups_words(groups: list[Candidate], evidence: Evidence) -> str:
    """Muscle groups of one kind, with the probabilities that they are behind."""
    names = ", ".join(evidence.catalogue.muscle_name(one.subject) for one in groups)
    chances = sorted({f"{one.probability:.2f}" for one in groups})
    span = chances[0] if len(chances) == 1 else f"{chances[0]} to {chances[-1]}"
    return f"{KINDS[groups[0].kind].capitalize()} with it: {names} (behind: {span})."


def _lifts(evidence: Evidence) -> Iterator[Candidate]:
    """One entry per lift, or per family whose exercises were swapped, that may need the coach.

    A family of one exercise is that exercise: its own row of the lifts speaks for it.
    """
    limits = loss_limits(evidence)
    swapped = evidence.families.filter(pl.col("exercises").str.contains(","))
    together = swapped.select("athlete", "family")
    alone = evidence.lifts.join(together, on=["athlete", "family"], how="anti", maintain_order="left")
    for subject, kind_of_subject, frame in (("family", "family", swapped), ("exercise", "lift", alone)):
        for row in frame.iter_rows(named=True):
            limit = limits.get(row["athlete"])
            if limit is None:
                kind = LIFT_KINDS.get(row["state"], "doubtful")
                probability = row["p_stalled"] + row["p_regressing"]
            else:
                kind, probability = "losing_strength", probability_below(row, limit)
            yield Candidate(
                athlete=row["athlete"],
                subject=row[subject],
                subject_kind=kind_of_subject,
                kind=kind,
                probability=min(max(probability, 0.0), _SUREST),
                since=row["since"] if row["state"] in ("stalled", "regressing") else None,
                evidence=row["why"],
                group=row["family"] or row[subject],
                lifts=frozenset((row["exercises"] if subject == "family" else row[subject]).split(", ")),
            )


def _muscles(evidence: Evidence) -> Iterator[Candidate]:
    trained = muscle_lifts(evidence)
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
            lifts=trained.get((row["athlete"], row["muscle"]), frozenset()),
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
    for row in recent.sort("athlete", "date", "source_row").iter_rows(named=True):
        if row["added_kg"]:
            why = f"{row['added_kg']:.4g} kg is the athlete's own weight, which this lift moves anyway"
        else:
            why = f"{row['load_kg'] or 0:.4g} kg x {row['reps'] or 0} is far from everything logged before"
        words = f"{row['exercise_as_logged']}, {row['date']:%d %b}: {why}. Left out until it is corrected."
        yield _fact(
            row["athlete"], f"row {row['source_row']} of {row['source_file']}", "unlikely_rows", words
        )


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
