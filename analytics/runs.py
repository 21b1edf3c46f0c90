"""Runs: what each verb of the command line does, as functions; nothing here prints."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import polars as pl

from analytics.errors import BadCall, BadExport
from analytics.intake import Intake, latest_week_end, read_folder
from analytics.publish.batch import Job, Outcome, ReportOutcome, publish
from analytics.publish.tables import write_tables
from analytics.review import CAUTIONS
from analytics.week import Tables, analyse, iso_week

_PACKAGED = Path(__file__).parent / "publish" / "notebooks"
NOTEBOOKS = _PACKAGED if _PACKAGED.is_dir() else Path(__file__).parents[1] / "notebooks"
"""The notebooks: inside an installed package, else beside it in the checkout."""

EARLIEST = date(1970, 1, 1)

OnDone = Callable[[ReportOutcome], None]


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


def week_end(week: str) -> date:
    """The Sunday of an ISO week written as 2026-W47.  Raises BadCall for anything else."""
    try:
        return date.fromisoformat(f"{week}-7")
    except ValueError as problem:
        raise BadCall(f"{week!r} is no ISO week. Write it as 2026-W47") from problem


def read_up_to(folder: Path, as_of: date | None, today: date) -> tuple[Intake, date]:
    """The folder as read up to `as_of`; without one, up to the last complete week in the data.

    Raises BadRoster when the folder cannot be used, BadCall when it holds no set of a complete week.
    """
    if as_of is not None:
        if not EARLIEST <= as_of <= today + timedelta(days=366):
            raise BadCall(f"{as_of} is no day to look at. Name one from {EARLIEST} to a year from now")
        return read_folder(folder, as_of), as_of
    everything = read_folder(folder, today)
    last = latest_week_end(everything.sets, today)
    if last is None:
        raise BadCall(
            f"{folder} holds no set of a week that is complete by {today}. Add exports, or name a --week"
        )
    later = everything.sets.filter(pl.col("date") > last).height
    return (read_folder(folder, last), last) if later else (everything, last)


def weekly(ask: Weekly, on_done: OnDone, on_read: Callable[[int], None]) -> WeeklyDone:
    """The main job: tables, one report per athlete and the roster page, in `out`/<week>.

    `on_read` is told how many reports there will be, `on_done` each finished one.
    """
    _outside(ask.out, ask.folder)
    intake, as_of = read_up_to(ask.folder, None if ask.week is None else week_end(ask.week), ask.today)
    chosen = _chosen(intake, ask.athletes)
    tables = analyse(intake, as_of)
    on_read(len(chosen or intake.roster.athletes))
    job = Job(
        week=iso_week(as_of),
        as_of=as_of,
        tables=tables,
        roster=intake.roster,
        inputs=_hashes(ask.folder),
        notebooks=NOTEBOOKS,
        out=ask.out,
        athletes=chosen,
        workers=ask.workers,
        scheduler=ask.scheduler,
        pdf=ask.pdf,
        cautions=CAUTIONS,
    )
    return WeeklyDone(outcome=publish(job, on_done), failures=intake.failures)


def read(folder: Path, out: Path, today: date) -> Intake:
    """The loader alone: `sets.parquet`, `set_aside.csv`, `ledger.csv` in `out`."""
    _outside(out, folder)
    intake = read_folder(folder, today)
    write_tables({"sets": intake.sets, "set_aside": intake.set_aside, "ledger": intake.ledger}, out)
    return intake


def states(folder: Path, as_of: date | None, out: Path, today: date) -> tuple[Intake, Tables]:
    """The analysis tables in `out`, nothing rendered."""
    _outside(out, folder)
    intake, day = read_up_to(folder, as_of, today)
    tables = analyse(intake, day)
    write_tables(tables, out)
    return intake, tables


def _outside(out: Path, folder: Path) -> None:
    """Refuse to write where the next run would read."""
    for place in ("exports", "checkins"):
        if out.resolve().is_relative_to((folder / place).resolve()):
            raise BadCall(f"{out} lies inside {folder / place}, where logs are read. Name another --out")


def _chosen(intake: Intake, athletes: tuple[str, ...] | None) -> tuple[str, ...] | None:
    if athletes is None:
        return None
    known = [athlete.id for athlete in intake.roster.athletes]
    for athlete in athletes:
        if athlete not in known:
            raise BadCall(f"no athlete {athlete!r} in the roster. Known ones: {', '.join(known)}")
    return athletes


def _hashes(folder: Path) -> dict[str, str]:
    """SHA-256 of every file of the folder, by path relative to it."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files
    }
