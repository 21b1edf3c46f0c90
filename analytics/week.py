"""Week: every table of one run, computed from what was read, as known on one day."""

from __future__ import annotations

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
)
from analytics.review import Evidence, attention_list, changes_between, cuts, headlines, quality
from analytics.strength import estimate_sessions
from analytics.trend import fit_trends

Tables = dict[str, pl.DataFrame]


def iso_week(day: date) -> str:
    """ISO 8601 week of a day, such as 2026-W47."""
    year, week, _ = day.isocalendar()
    return f"{year}-W{week:02d}"


def analyse(intake: Intake, as_of: date) -> Tables:
    """All tables of design section 4 and 5 by name, and what the pages need to name things.

    Rows after `as_of` change nothing.  `changes` compares with the same analysis a week earlier.
    """
    now = answers(intake, as_of)
    before = answers(intake, as_of - timedelta(days=7))
    tables = now | {
        "changes": changes_between(before, now),
        "set_aside": intake.set_aside,
        "ledger": intake.ledger,
        "checkins": intake.checkins.filter(pl.col("date") <= as_of),
        "calendar": intake.calendar,
        "decisions": intake.decisions.filter(pl.col("date") <= as_of),
        "unknown_exercises": intake.unknown_exercises,
        "athlete": _athletes(intake, as_of),
        "phases": _phases(intake),
    }
    tables["names"] = _names(tables, intake.catalogue)
    return tables | {"headlines": headlines(tables)}


def answers(intake: Intake, as_of: date) -> Tables:
    """The answers alone: sessions, lifts, families, their history, muscle groups and the attention list."""
    sets = intake.sets.filter(pl.col("date") <= as_of)
    checkins = intake.checkins.filter(pl.col("date") <= as_of)
    calendar = intake.calendar.filter(pl.col("from") <= as_of)
    sessions = estimate_sessions(sets)
    trends = fit_trends(sessions, calendar, as_of)
    weeks = count_weeks(sets, intake.catalogue, as_of)
    inputs = MuscleInputs(
        weeks=weeks,
        lifts=trends.lifts,
        checkins=checkins,
        calendar=calendar,
        roster=intake.roster,
        catalogue=intake.catalogue,
        as_of=as_of,
        uncounted=uncounted(sets, intake.catalogue, as_of),
    )
    pairs = BalanceInputs(weeks=weeks, sets=sets, checkins=checkins, catalogue=intake.catalogue, as_of=as_of)
    muscles, weight = judge_muscles(inputs), bodyweight(checkins, intake.roster, as_of)
    evidence = Evidence(
        as_of=as_of,
        roster=intake.roster,
        catalogue=intake.catalogue,
        sets=sets,
        ledger=intake.ledger,
        calendar=calendar,
        decisions=intake.decisions.filter(pl.col("date") <= as_of),
        lifts=trends.lifts,
        families=trends.families,
        muscles=muscles,
        bodyweight=weight,
    )
    return {
        "sets": sets,
        "sessions": sessions,
        "lifts": trends.lifts,
        "families": trends.families,
        "lift_history": trends.history,
        "trend_lines": trends.lines,
        "muscle_weeks": weeks,
        "muscles": muscles,
        "balance": balance(pairs),
        "bodyweight": weight,
        "session_load": session_load(checkins, sets, as_of),
        "attention": attention_list(evidence),
        "cuts": cuts(evidence),
        "quality": quality(evidence, intake.set_aside),
    }


def _athletes(intake: Intake, as_of: date) -> pl.DataFrame:
    """One row per athlete: who they are and where they stand in the plan."""
    rows = [
        {
            "athlete": athlete.id,
            "name": athlete.name,
            "title": intake.roster.title,
            "as_of": as_of,
            "week": iso_week(as_of),
            "stage_date": athlete.stage_date,
            "weeks_to_stage": athlete.weeks_to_stage(as_of),
            "phase": athlete.phase_on(as_of),
            "priority": ", ".join(athlete.priority),
        }
        for athlete in intake.roster.athletes
    ]
    schema = {"stage_date": pl.Date, "weeks_to_stage": pl.Float64, "phase": pl.String}
    return pl.DataFrame(rows, schema_overrides=schema).sort("athlete")


def _phases(intake: Intake) -> pl.DataFrame:
    rows = [(a.id, phase.name, phase.start) for a in intake.roster.athletes for phase in a.phases]
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
