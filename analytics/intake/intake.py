"""Intake: everything a roster folder holds, read once, as of one day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

import polars as pl

from analytics.catalogue import Catalogue, covering, load_catalogue
from analytics.errors import BadExport, BadRoster
from analytics.intake import ledger as account
from analytics.intake.assembly import assemble
from analytics.intake.checkins import read_checkins
from analytics.intake.export import Context, Export, read_export
from analytics.intake.folder import Source, count_lines, list_sources, read_bytes, read_text
from analytics.intake.header import FIELDS, dictionary
from analytics.intake.naming import split_name
from analytics.intake.plans import read_calendar, read_decisions
from analytics.roster import Roster, parse_roster
from analytics.schema import CHECKINS, SET_ASIDE, conform


@dataclass(frozen=True, kw_only=True)
class Intake:
    """A roster folder as tables (contracts in `analytics.schema`).

    `unknown_exercises`: one row per `athlete, exercise_as_logged` outside the catalogue, with its `sets`.
    `failures`: files refused whole, one message each; the other files went on.
    """

    roster: Roster
    catalogue: Catalogue
    sets: pl.DataFrame
    set_aside: pl.DataFrame
    ledger: pl.DataFrame
    checkins: pl.DataFrame
    calendar: pl.DataFrame
    decisions: pl.DataFrame
    unknown_exercises: pl.DataFrame
    failures: tuple[BadExport, ...]


def read_folder(folder: Path, as_of: date) -> Intake:
    """Everything in a roster folder up to and including `as_of`; rows dated later are set aside first.

    Raises BadRoster where the folder, `roster.toml` or `exercises.toml` cannot be used at all.
    """
    folder = Path(folder)
    text = read_text(folder, "roster.toml")
    if text is None:
        raise BadRoster(
            str(folder), "there is no roster.toml in it", "Write one, or run the demo verb for an example"
        )
    catalogue = _catalogue(read_text(folder, "exercises.toml"))
    roster = parse_roster(text, "roster.toml", muscles=catalogue.muscles, fields=FIELDS)
    failures: list[BadExport] = []
    rows: list[pl.DataFrame] = []
    asides: list[pl.DataFrame] = []
    checkins = _read_checkins(folder, roster, as_of, failures, rows, asides)
    exports: list[Export] = []
    context = Context(
        roster=roster,
        as_of=as_of,
        known=dictionary("sets", roster.columns),
        words=pl.Categorical(pl.Categories.random()),
        athletes=pl.Enum(sorted(athlete.id for athlete in roster.athletes)),
    )
    for source in list_sources(folder, "exports", roster):
        try:
            exports.append(read_export(read_bytes(source), source.name, source.athlete, context))
        except BadExport as problem:
            failures.append(problem)
            rows.append(account.refused(source.name, source.athlete, count_lines(source), str(problem)))
    catalogue = covering(catalogue, _lift_names(exports))
    done = assemble(exports, catalogue, checkins, context)
    rows.extend(done.ledger)
    asides.extend(done.set_aside)
    calendar, decisions = _plans(folder, roster, as_of, failures, rows, asides)
    aside = pl.concat(asides, how="diagonal_relaxed") if asides else SET_ASIDE.empty()
    return Intake(
        roster=roster,
        catalogue=catalogue,
        sets=done.sets,
        set_aside=conform(aside, SET_ASIDE),
        ledger=account.ledger_table(rows),
        checkins=checkins,
        calendar=calendar,
        decisions=decisions,
        unknown_exercises=done.unknown,
        failures=tuple(failures),
    )


def _lift_names(exports: list[Export]) -> set[str]:
    """Every distinct name of an exercise, without the marks beside it."""
    logged = (export.rows.get_column("exercise").unique().cast(pl.String) for export in exports)
    return {split_name(name).name for names in logged for name in names.drop_nulls()}


@lru_cache(maxsize=8)
def _catalogue(own: str | None) -> Catalogue:
    return load_catalogue(own)


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
    folder: Path,
    roster: Roster,
    as_of: date,
    failures: list[BadExport],
    rows: list[pl.DataFrame],
    asides: list[pl.DataFrame],
) -> pl.DataFrame:
    known = dictionary("checkins", roster.columns)
    tables = [CHECKINS.empty()]
    for source in list_sources(folder, "checkins", roster):
        try:
            if source.athlete is None:
                raise BadExport(
                    source.name,
                    1,
                    "the file is named after no athlete of the roster",
                    "Name it <athlete id>.csv",
                )
            found = read_checkins(
                read_bytes(source), source.name, roster.athlete(source.athlete), known, as_of
            )
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
    folder: Path,
    roster: Roster,
    as_of: date,
    failures: list[BadExport],
    rows: list[pl.DataFrame],
    asides: list[pl.DataFrame],
) -> tuple[pl.DataFrame, pl.DataFrame]:
    tables = []
    for name, read in (("calendar.csv", read_calendar), ("decisions.csv", read_decisions)):
        source = Source(root=folder, path=folder / name, name=name, athlete=None)
        try:
            raw = read_bytes(source) if source.path.is_file() else None
            table, aside = read(raw, name, roster, as_of)
            asides.append(aside)
        except BadExport as problem:
            failures.append(problem)
            rows.append(account.refused(name, None, count_lines(source), str(problem)))
            table, _ = read(None, name, roster, as_of)
        tables.append(table)
    return tables[0], tables[1]
