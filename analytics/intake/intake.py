"""Intake: everything a roster folder holds, read once, as of one day."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import polars as pl

from analytics.catalogue import Catalogue
from analytics.errors import BadExport
from analytics.intake import ledger as account
from analytics.intake.assembly import assemble
from analytics.intake.batch import PLANS, Batch, one_batch
from analytics.intake.checkins import read_checkins
from analytics.intake.export import Context, Export, read_export
from analytics.intake.header.heading import dictionary
from analytics.intake.plans import read_calendar, read_decisions
from analytics.intake.source.folder import count_lines, read_bytes
from analytics.intake.table.setlog import SetLog
from analytics.roster import Roster
from analytics.schema import CHECKINS, SET_ASIDE, conform


@dataclass(frozen=True, kw_only=True)
class Reading:
    """What a roster folder says beside its sets, as tables (contracts in `analytics.schema`).

    `unknown_exercises`: one row per `athlete, exercise_as_logged` outside the catalogue, with its `sets`.
    `failures`: files refused whole, one message each; the other files went on.
    """

    roster: Roster
    catalogue: Catalogue
    set_aside: pl.DataFrame
    ledger: pl.DataFrame
    checkins: pl.DataFrame
    calendar: pl.DataFrame
    decisions: pl.DataFrame
    unknown_exercises: pl.DataFrame
    failures: tuple[BadExport, ...]


@dataclass(frozen=True, kw_only=True)
class Intake(Reading):
    """A roster folder as tables, the set table among them."""

    sets: pl.DataFrame


def read_folder(folder: Path, as_of: date) -> Intake:
    """Everything in a roster folder up to and including `as_of`; rows dated later are set aside first.

    Raises BadRoster where the folder, `roster.toml` or `exercises.toml` cannot be used at all.
    """
    return read_batch(one_batch(Path(folder)), as_of)


def open_folder(folder: Path, as_of: date) -> tuple[Reading, SetLog]:
    """As `read_folder`, the sets not put together yet, so that they can be written while that is done."""
    return _read(one_batch(Path(folder)), as_of)


def read_batch(batch: Batch, as_of: date) -> Intake:
    """What the files of a batch say of its athletes: the roster, and every table, holds no others."""
    reading, log = _read(batch, as_of)
    intake = Intake(**vars(reading), sets=log.table())
    return intake if len(batch.athletes) == len(batch.roster.athletes) else share_of(intake, batch)


def _read(batch: Batch, as_of: date) -> tuple[Reading, SetLog]:
    roster = batch.roster
    failures: list[BadExport] = []
    rows: list[pl.DataFrame] = []
    asides: list[pl.DataFrame] = []
    checkins = _read_checkins(batch, as_of, failures, rows, asides)
    exports: list[Export] = []
    context = Context(
        roster=roster,
        as_of=as_of,
        known=dictionary("sets", roster.columns),
        words=pl.Categorical(pl.Categories.random()),
        athletes=pl.Enum(sorted(athlete.id for athlete in roster.athletes)),
    )
    for source in batch.exports:
        try:
            exports.append(read_export(source, context))
        except BadExport as problem:
            failures.append(problem)
            rows.append(account.refused(source.name, source.athlete, count_lines(source), str(problem)))
    done = assemble(exports, batch.catalogue, checkins, context)
    rows.extend(done.ledger)
    asides.extend(done.set_aside)
    calendar, decisions = _plans(batch, as_of, failures, rows, asides)
    aside = pl.concat(asides, how="diagonal_relaxed") if asides else SET_ASIDE.empty()
    reading = Reading(
        roster=roster,
        catalogue=done.log.names.catalogue,
        set_aside=conform(aside, SET_ASIDE),
        ledger=account.ledger_table(rows),
        checkins=checkins,
        calendar=calendar,
        decisions=decisions,
        unknown_exercises=done.unknown,
        failures=tuple(failures),
    )
    return reading, done.log


def share_of(intake: Intake, batch: Batch) -> Intake:
    """What was read of the athletes of `batch`, a part of the batch that `intake` was read from."""
    own = pl.col("athlete").is_in(batch.athletes)
    told = own | pl.col("athlete").is_null() & batch.answers
    chosen = set(batch.athletes)
    return replace(
        intake,
        roster=replace(intake.roster, athletes=tuple(a for a in intake.roster.athletes if a.id in chosen)),
        sets=intake.sets.filter(own),
        set_aside=intake.set_aside.filter(told),
        ledger=intake.ledger.filter(told),
        checkins=intake.checkins.filter(own),
        calendar=intake.calendar.filter(own),
        decisions=intake.decisions.filter(own),
        unknown_exercises=intake.unknown_exercises.filter(own),
        failures=tuple(f for f in intake.failures if batch.answers or f.path in batch.own_names),
    )


def latest_week_end(sets: pl.DataFrame, today: date) -> date | None:
    """Sunday of the last ISO week that has data and ended on or before `today`; None without one."""
    ends = (
        sets.select((pl.col("date") + pl.duration(days=7 - pl.col("date").dt.weekday())).alias("end"))
        .filter(pl.col("end") <= today)
        .get_column("end")
    )
    last = ends.max()
    return last if isinstance(last, date) else None


def _read_checkins(
    batch: Batch,
    as_of: date,
    failures: list[BadExport],
    rows: list[pl.DataFrame],
    asides: list[pl.DataFrame],
) -> pl.DataFrame:
    known = dictionary("checkins", batch.roster.columns)
    tables = [CHECKINS.empty()]
    for source in batch.checkins:
        try:
            if source.athlete is None:
                raise BadExport(
                    source.name,
                    1,
                    "the file is named after no athlete of the roster",
                    "Name it <athlete id>.csv",
                )
            athlete = batch.roster.athlete(source.athlete)
            found = read_checkins(read_bytes(source), source.name, athlete, known, as_of)
        except BadExport as problem:
            failures.append(problem)
            rows.append(account.refused(source.name, source.athlete, count_lines(source), str(problem)))
            continue
        tables.append(found.table)
        asides.append(found.set_aside)
        rows.append(found.ledger)
    merged = pl.concat(tables).unique(
        ["athlete", "date", "measure", "side"], keep="last", maintain_order=True
    )
    return conform(merged, CHECKINS)


def _plans(
    batch: Batch,
    as_of: date,
    failures: list[BadExport],
    rows: list[pl.DataFrame],
    asides: list[pl.DataFrame],
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """(calendar, decisions) of the whole roster."""
    tables = []
    for name, read in zip(PLANS, (read_calendar, read_decisions), strict=True):
        source = next((plan for plan in batch.plans if plan.name == name), None)
        try:
            raw = None if source is None else read_bytes(source)
            table, aside = read(raw, name, batch.roster, as_of)
            asides.append(aside)
        except BadExport as problem:
            if source is not None:
                failures.append(problem)
                rows.append(account.refused(name, None, count_lines(source), str(problem)))
            table, _ = read(None, name, batch.roster, as_of)
        tables.append(table)
    return tables[0], tables[1]
