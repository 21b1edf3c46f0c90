"""The job of one weekly run, and what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from analytics.publish.report import Limits
from analytics.publish.tables import Table
from analytics.roster import Roster

ROSTER_PAGE = ""
"""The athlete id that stands for the roster page."""
STATUSES = ("rendered", "kept", "failed")


@dataclass(frozen=True, kw_only=True)
class Job:
    """One weekly run.

    `tables` holds every table by name, `inputs` the sha256 of every file read, by path relative to the roster
    folder.  `notebooks` is the folder with athlete.ipynb and roster.ipynb, `out` the folder of all weeks.
    `athletes` limits the run to these ids (the others keep the pages they have), `workers` the number of
    reports made at once, `scheduler` names a Dask scheduler, `pdf` also prints each page.  `cautions` end
    every page.  `kernels` is "auto", "stock" or "forked".
    """

    week: str
    as_of: date
    tables: Mapping[str, Table]
    roster: Roster
    inputs: Mapping[str, str]
    notebooks: Path
    out: Path
    athletes: tuple[str, ...] | None = None
    workers: int | None = None
    scheduler: str | None = None
    pdf: bool = False
    cautions: tuple[str, ...] = ()
    limits: Limits = field(default_factory=Limits)
    kernels: str = "auto"


@dataclass(frozen=True, kw_only=True)
class ReportOutcome:
    """What became of one report.  `athlete` is empty for the roster page; `path` is the page's final place.

    `status` is rendered, kept (nothing it depends on has changed, or it was not asked for) or failed; then
    `why` and `cell` (counted from 0 in the notebook, -1 if none ran) say more, and the page is the last good
    one, marked, or a plain one.
    """

    athlete: str
    path: Path
    seconds: float
    status: str
    why: str = ""
    cell: int | None = None


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of the run: the week's folder, every report in roster order (roster page last), seconds.

    `remarks` are plain sentences about the run as a whole, such as why nothing was printed.
    """

    folder: Path
    reports: tuple[ReportOutcome, ...]
    seconds: float
    remarks: tuple[str, ...] = ()

    @property
    def failed(self) -> tuple[ReportOutcome, ...]:
        """The reports that could not be rendered."""
        return tuple(report for report in self.reports if report.status == "failed")
