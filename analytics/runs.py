"""Runs: what each verb of the command line does, as functions; nothing here prints."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import polars as pl

from analytics.errors import BadCall, BadExport
from analytics.intake import Reading, one_batch, open_folder
from analytics.judging import Asked, judged
from analytics.pieces import write_parts
from analytics.publish.batch import Job, Outcome, ReportOutcome, publish
from analytics.publish.tables import write_tables
from analytics.review import CAUTIONS
from analytics.roster import Roster
from analytics.schema import SETS
from analytics.week import iso_week

_PACKAGED = Path(__file__).parent / "publish" / "notebooks"
NOTEBOOKS = _PACKAGED if _PACKAGED.is_dir() else Path(__file__).parents[1] / "notebooks"
"""The notebooks: inside an installed package, else beside it in the checkout."""

EARLIEST = date(1970, 1, 1)


def _unseen(*told: object) -> None:
    """Nobody watches."""


@dataclass(frozen=True, kw_only=True)
class Watch:
    """Who is told how a run goes: athletes in all and `judged`, how many `reports`, each `report` done."""

    judged: Callable[[int, int], None] = _unseen
    reports: Callable[[int], None] = _unseen
    report: Callable[[ReportOutcome], None] = _unseen


@dataclass(frozen=True, kw_only=True)
class Weekly:
    """What the main job is asked for.  `today` bounds the default week; nothing else depends on it."""

    folder: Path
    today: date
    week: str | None = None
    out: Path = Path("reports")
    athletes: tuple[str, ...] | None = None
    workers: int | None = None
    scheduler: str | None = None
    pdf: bool = False


@dataclass(frozen=True, kw_only=True)
class WeeklyDone:
    """What the main job did: the pages, and the files that were refused."""

    outcome: Outcome
    failures: tuple[BadExport, ...]


@dataclass(frozen=True, kw_only=True)
class States:
    """What is asked for without reports: the tables as of a day, or of the last complete week."""

    folder: Path
    out: Path
    today: date
    as_of: date | None = None
    workers: int | None = None
    scheduler: str | None = None


@dataclass(frozen=True, kw_only=True)
class StatesDone:
    """The roster, the tables that speak of it as a whole, and the files that were refused."""

    roster: Roster
    tables: Mapping[str, pl.DataFrame]
    failures: tuple[BadExport, ...]


def week_end(week: str) -> date:
    """The Sunday of an ISO week written as 2026-W47.  Raises BadCall for anything else."""
    try:
        return date.fromisoformat(f"{week}-7")
    except ValueError as problem:
        raise BadCall(f"{week!r} is no ISO week. Write it as 2026-W47") from problem


def possible(as_of: date, today: date) -> date:
    """The day, where one may look at it.  Raises BadCall for others."""
    if not EARLIEST <= as_of <= today + timedelta(days=366):
        raise BadCall(f"{as_of} is no day to look at. Name one from {EARLIEST} to a year from now")
    return as_of


def weekly(ask: Weekly, watch: Watch) -> WeeklyDone:
    """The main job: tables, one report per athlete and the roster page, in `out`/<week>."""
    _outside(ask.out, ask.folder)
    _chosen(ask)
    asked = Asked(
        folder=ask.folder,
        as_of=None if ask.week is None else possible(week_end(ask.week), ask.today),
        today=ask.today,
        scratch=ask.out,
        kept=ask.out / ".judged",
        workers=ask.workers,
        scheduler=ask.scheduler,
    )
    with judged(asked, watch.judged) as found:
        watch.reports(len(ask.athletes or found.roster.athletes))
        job = Job(
            week=iso_week(found.as_of),
            as_of=found.as_of,
            tables=found.tables,
            roster=found.roster,
            inputs=_hashes(ask.folder),
            notebooks=NOTEBOOKS,
            out=ask.out,
            athletes=ask.athletes,
            workers=ask.workers,
            scheduler=ask.scheduler,
            pdf=ask.pdf,
            cautions=CAUTIONS,
        )
        return WeeklyDone(outcome=publish(job, watch.report), failures=found.failures)


def read(folder: Path, out: Path, today: date) -> Reading:
    """The loader alone: `sets.parquet`, `set_aside.csv`, `ledger.csv` in `out`."""
    _outside(out, folder)
    reading, log = open_folder(folder, today)
    parts = log.parts()  # worked on while the small tables are written
    write_tables({"set_aside": reading.set_aside, "ledger": reading.ledger}, out)
    write_parts(parts, SETS, out / "sets.parquet")
    return reading


def states(ask: States, watch: Watch) -> StatesDone:
    """The analysis tables in `out`, nothing rendered."""
    _outside(ask.out, ask.folder)
    asked = Asked(
        folder=ask.folder,
        as_of=None if ask.as_of is None else possible(ask.as_of, ask.today),
        today=ask.today,
        scratch=ask.out,
        workers=ask.workers,
        scheduler=ask.scheduler,
    )
    with judged(asked, watch.judged) as found:
        write_tables(found.tables, ask.out)
        small = {name: table for name, table in found.tables.items() if isinstance(table, pl.DataFrame)}
        return StatesDone(roster=found.roster, tables=small, failures=found.failures)


def _outside(out: Path, folder: Path) -> None:
    """Refuse to write where the next run would read."""
    for place in ("exports", "checkins"):
        if out.resolve().is_relative_to((folder / place).resolve()):
            raise BadCall(f"{out} lies inside {folder / place}, where logs are read. Name another --out")


def _chosen(ask: Weekly) -> None:
    if ask.athletes is None:
        return
    known = [athlete.id for athlete in one_batch(ask.folder).roster.athletes]
    for athlete in ask.athletes:
        if athlete not in known:
            raise BadCall(f"no athlete {athlete!r} in the roster. Known ones: {', '.join(known)}")


def _hashes(folder: Path) -> dict[str, str]:
    """SHA-256 of every file that may be read, by path relative to the folder."""
    settings = [folder / name for name in ("roster.toml", "exercises.toml", "calendar.csv", "decisions.csv")]
    logs = [path for place in ("exports", "checkins") for path in (folder / place).rglob("*")]
    files = sorted(path for path in (*settings, *logs) if path.is_file())
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files
    }
