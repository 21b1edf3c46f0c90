"""Week: every table of one run, computed from what was read, as known on one day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import polars as pl

from analytics.catalogue import Catalogue
from analytics.intake import Intake
from analytics.muscles import (
    BalanceInputs,
    MuscleInputs,
    balance,
    bodyweight,
    count_weeks,
    judge_muscles,
    session_load,
    uncounted,
    weeks_known,
)
from analytics.review import Evidence, changes_between, cut_list, cuts, headlines, quality, weigh_candidates
from analytics.roster import Roster
from analytics.schema import TABLES
from analytics.strength import estimate_sessions
from analytics.trend import fit_trends

Tables = dict[str, pl.DataFrame]

LARGE = ("sets", "sessions", "lift_history", "trend_lines", "muscle_weeks")
"""Large tables, sorted by athlete first: put one after another, groups of athletes in order make them whole.
Nothing said of a whole roster needs them.
"""


_KEYS = {table.name: table.key for table in TABLES}


def iso_week(day: date) -> str:
    """ISO 8601 week of a day, such as 2026-W47."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


@dataclass(frozen=True, kw_only=True)
class Study:
    """Everything said of a group of athletes, `now` and a week `before`, but for what needs the whole roster.

    Tables by name, as in `analytics.schema`; the list of each is still its uncut ``candidates``.
    """

    now: Tables
    before: Tables


def analyse(intake: Intake, as_of: date) -> Tables:
    """All tables of design section 4 and 5 by name, and what the pages need to name things.

    Rows after `as_of` change nothing.  `changes` compares with the same analysis a week earlier.
    """
    return whole([study(intake, as_of)], intake.roster, as_of)


def study(intake: Intake, as_of: date) -> Study:
    """The answers of this week and the one before for the athletes of `intake`.

    No athlete's rows depend on another's, so a roster may be studied group by group, in any groups.
    """
    last = as_of - timedelta(days=7)
    sets = intake.sets.filter(pl.col("date") <= as_of)
    sessions = estimate_sessions(sets)
    calendar = intake.calendar.filter(pl.col("from") <= as_of)
    trends = fit_trends(sessions, calendar, as_of, phases_of(intake.roster))
    weeks = count_weeks(sets, intake.catalogue, as_of)
    known = _Known(
        as_of=as_of, intake=intake, sets=sets, lifts=trends.lifts, families=trends.families, weeks=weeks
    )
    earlier = _Known(
        as_of=last,
        intake=intake,
        sets=sets.filter(pl.col("date") <= last),
        lifts=trends.lifts_before,
        families=trends.families_before,
        weeks=weeks_known(weeks, sets, intake.catalogue, last),
    )
    checkins = intake.checkins.filter(pl.col("date") <= as_of)
    pairs = BalanceInputs(weeks=weeks, sets=sets, checkins=checkins, catalogue=intake.catalogue, as_of=as_of)
    evidence = known.evidence()
    now = {
        "sets": sets,
        "sessions": sessions,
        "lifts": trends.lifts,
        "families": trends.families,
        "lift_history": trends.history,
        "trend_lines": trends.lines,
        "muscle_weeks": weeks,
        "muscles": evidence.muscles,
        "balance": balance(pairs),
        "bodyweight": evidence.bodyweight,
        "session_load": session_load(checkins, sets, as_of),
        "candidates": weigh_candidates(evidence),
        "cuts": cuts(evidence),
        "quality": quality(evidence, intake.set_aside),
        "set_aside": intake.set_aside,
        "ledger": intake.ledger,
        "checkins": checkins,
        "calendar": intake.calendar,
        "decisions": evidence.decisions,
        "unknown_exercises": intake.unknown_exercises,
    }
    now["names"] = _names(now, intake.catalogue)
    evidence = earlier.evidence()
    before = {
        "lifts": evidence.lifts,
        "families": evidence.families,
        "muscles": evidence.muscles,
        "candidates": weigh_candidates(evidence),
    }
    return Study(now=now, before=before)


def whole(studies: Sequence[Study], roster: Roster, as_of: date) -> Tables:
    """The studies of all groups as the tables of one roster, with its attention list and its changes.

    The large tables may have been taken out of the studies; then they are not in the answer.
    """
    now = _together([one.now for one in studies])
    before = _together([one.before for one in studies])
    for week in (now, before):
        week["attention"] = cut_list(week.pop("candidates"), roster.false_share)
    now |= {
        "changes": changes_between(before, now),
        "athlete": _athletes(roster, as_of),
        "phases": phases_of(roster),
    }
    return now | {"headlines": headlines(now)}


def _together(groups: Sequence[Tables]) -> Tables:
    if len(groups) == 1:
        return dict(groups[0])
    return {name: one_table(name, [group[name] for group in groups]) for name in groups[0]}


def one_table(name: str, frames: list[pl.DataFrame]) -> pl.DataFrame:
    """A table of several groups of athletes as one, in its order."""
    key = _KEYS.get(name, ("athlete", *frames[0].columns))
    return pl.concat(frames).sort(key, nulls_last=True, maintain_order=True)


@dataclass(frozen=True, kw_only=True)
class _Known:
    """What is known of a group of athletes on one day, before muscles and the list are judged."""

    as_of: date
    intake: Intake
    sets: pl.DataFrame
    lifts: pl.DataFrame
    families: pl.DataFrame
    weeks: pl.DataFrame

    def evidence(self) -> Evidence:
        intake = self.intake
        checkins = intake.checkins.filter(pl.col("date") <= self.as_of)
        calendar = intake.calendar.filter(pl.col("from") <= self.as_of)
        inputs = MuscleInputs(
            weeks=self.weeks,
            lifts=self.lifts,
            checkins=checkins,
            calendar=calendar,
            roster=intake.roster,
            catalogue=intake.catalogue,
            as_of=self.as_of,
            uncounted=uncounted(self.sets, intake.catalogue, self.as_of),
        )
        return Evidence(
            as_of=self.as_of,
            roster=intake.roster,
            catalogue=intake.catalogue,
            sets=self.sets,
            ledger=intake.ledger,
            calendar=calendar,
            decisions=intake.decisions.filter(pl.col("date") <= self.as_of),
            lifts=self.lifts,
            families=self.families,
            muscles=judge_muscles(inputs),
            bodyweight=bodyweight(checkins, intake.roster, self.as_of),
        )


def _athletes(roster: Roster, as_of: date) -> pl.DataFrame:
    """One row per athlete: who they are and where they stand in the plan."""
    rows = [
        {
            "athlete": athlete.id,
            "name": athlete.name,
            "title": roster.title,
            "as_of": as_of,
            "week": iso_week(as_of),
            "stage_date": athlete.stage_date,
            "weeks_to_stage": athlete.weeks_to_stage(as_of),
            "phase": athlete.phase_on(as_of),
            "priority": ", ".join(athlete.priority),
        }
        for athlete in roster.athletes
    ]
    schema = {"stage_date": pl.Date, "weeks_to_stage": pl.Float64, "phase": pl.String}
    return pl.DataFrame(rows, schema_overrides=schema).sort("athlete")


def phases_of(roster: Roster) -> pl.DataFrame:
    """The phases that the coach declared: one row per athlete and phase, `athlete, name, from`."""
    rows = [(a.id, phase.name, phase.start) for a in roster.athletes for phase in a.phases]
    schema = {"athlete": pl.String, "name": pl.String, "from": pl.Date}
    return pl.DataFrame(rows, schema=schema, orient="row").sort("athlete", "from")


def _names(tables: Tables, catalogue: Catalogue) -> pl.DataFrame:
    """What a page calls each exercise, family and muscle group that an athlete's tables mention."""
    logged = (
        tables["sets"]
        .select("athlete", id="exercise", logged="exercise_as_logged")
        .unique(["athlete", "id"], keep="first", maintain_order=True)
    )
    others = pl.concat(
        [
            tables["families"].select("athlete", id="family"),
            tables["muscles"].select("athlete", id="muscle"),
            tables["muscle_weeks"].select("athlete", id="muscle"),
        ]
    ).unique(maintain_order=True)
    known = {family: catalogue.family_name(family) for family in catalogue.families}
    known |= {muscle: catalogue.muscle_name(muscle) for muscle in catalogue.muscles}
    known |= {name: exercise.name for name, exercise in catalogue.exercises.items()}
    every = pl.concat([logged, others.with_columns(logged=pl.col("id"))]).with_columns(
        name=pl.col("id").replace_strict(known, default=pl.col("logged"), return_dtype=pl.String)
    )
    return every.select("athlete", "id", "name").unique(["athlete", "id"], keep="first").sort("athlete", "id")
