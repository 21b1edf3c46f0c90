"""The batch: tables and notebooks in, a folder of reports out; a failure costs one report."""

from __future__ import annotations

import json
import os
import shutil
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from analytics.errors import BadCall, ReportFailed
from analytics.publish import marks
from analytics.publish.folder import draft
from analytics.publish.forking import FORKED, STOCK, fork_servers, imported_modules, start_server
from analytics.publish.job import ROSTER_PAGE, Job, Outcome, ReportOutcome
from analytics.publish.library import library
from analytics.publish.plan import PagePlan, plan
from analytics.publish.printing import find_browser, print_page
from analytics.publish.report import Rendered, Report
from analytics.publish.tables import write_tables
from analytics.publish.workers import REPORT_MB, executor, finished
from analytics.versions import versions
from analytics.workers import worker_count

__all__ = ["ROSTER_PAGE", "Job", "Outcome", "ReportOutcome", "publish"]


def publish(job: Job, on_done: Callable[[ReportOutcome], None]) -> Outcome:
    """The week's folder, written whole and moved into place; `on_done` is called as each report is settled.

    A report that fails stands in the outcome and is no exception.  Raises BadCall for an unknown athlete or
    a missing notebook, MissingExtra if a scheduler is named and Dask is not installed.
    """
    start = time.perf_counter()
    known = [athlete.id for athlete in job.roster.athletes]
    for athlete in job.athletes or ():
        if athlete not in known:
            raise BadCall(f"no athlete {athlete!r} on this roster. There are: {', '.join(known)}")
    pages = plan(job)
    with draft(job.out, job.week) as new:
        settle = _Settle(job, new, on_done)
        write_tables(job.tables, new / "tables")
        (new / "athletes").mkdir()
        changed = {page.athlete: page for page in pages if not settle.kept(page)}
        if changed:
            reports = _reports(job, tuple(changed.values()), new / "slices")
            with fork_servers(), executor(job.workers, len(changed), job.scheduler) as (pool, width):
                for result in finished(pool, reports, width):
                    settle.rendered(changed[result.athlete], result)
        shutil.rmtree(new / "slices", ignore_errors=True)
        remarks = settle.printed(pages) if job.pdf else ()
        outcomes = tuple(settle.outcomes[page.athlete] for page in pages)
        seconds = time.perf_counter() - start
        _write_record(new / "run.json", job, outcomes, seconds)
    return Outcome(folder=job.out / job.week, reports=outcomes, seconds=seconds, remarks=remarks)


def _reports(job: Job, pages: tuple[PagePlan, ...], slices: Path) -> Iterator[Report]:
    modules = imported_modules({page.notebook for page in pages})
    kernel = FORKED if job.kernels != STOCK else STOCK
    if job.scheduler is not None:
        return (page.report(job, kernel, modules) for page in pages)
    if kernel == FORKED:
        start_server(modules)
    slices.mkdir()
    return (page.report(job, kernel, modules, str(slices.absolute())) for page in pages)


class _Settle:
    """Puts each page into the draft, and says what became of it."""

    def __init__(self, job: Job, new: Path, on_done: Callable[[ReportOutcome], None]) -> None:
        self.job, self.new, self.on_done = job, new, on_done
        self.old = job.out / job.week
        self.outcomes: dict[str, ReportOutcome] = {}

    def kept(self, page: PagePlan) -> bool:
        """Whether the page of the old week can stay: unchanged, or not asked for and there."""
        asked = self.job.athletes is None or page.athlete in (*self.job.athletes, ROSTER_PAGE)
        there = all((self.old / path).is_file() for path in (page.path, page.notebook_path))
        fresh = there and marks.key_of(self.old / page.path) == page.facts.key
        if asked and not fresh:
            return False
        if fresh:
            for path in (page.path, page.notebook_path):
                _link(self.old / path, self.new / path)
            self._say(page, "kept")
        else:
            self._earlier(page, "It was not asked for in this run.")
            self._say(page, "kept", why="not asked for")
        return True

    def rendered(self, page: PagePlan, result: Rendered | ReportFailed) -> None:
        """Writes a finished report, or puts the last good page in its place."""
        if isinstance(result, ReportFailed):
            self._earlier(page, f"The report of this run failed in cell {result.cell}: {result.why}.")
            self._say(page, "failed", why=result.why, cell=result.cell)
            return
        text = result.page
        if marks.LIBRARY in text:
            text = marks.with_library(text, library(self.job.out))
        else:
            text = marks.with_library(text, "")
        (self.new / page.path).write_text(text, encoding="utf-8")
        (self.new / page.notebook_path).write_text(result.notebook, encoding="utf-8")
        self._say(page, "rendered", seconds=result.seconds)

    def printed(self, pages: tuple[PagePlan, ...]) -> tuple[str, ...]:
        """Prints every page of this run that has no print yet; remarks on what could not be printed."""
        browser = find_browser()
        if browser is None:
            return (
                "Nothing was printed: there is no Chromium, Chrome or Edge here. Print from any browser.",
            )
        todo = []
        for page in pages:
            pdf = Path(page.path).with_suffix(".pdf")
            if self.outcomes[page.athlete].status == "kept" and (self.old / pdf).is_file():
                _link(self.old / pdf, self.new / pdf)
            else:
                todo.append(self.new / page.path)
        with ThreadPoolExecutor(worker_count(self.job.workers, REPORT_MB)) as threads:
            said = threads.map(lambda path: print_page(browser, path, self.job.as_of), todo)
            return tuple(remark for remark in said if remark)

    def _earlier(self, page: PagePlan, reason: str) -> None:
        """The last good page, marked, from this week or the latest before it; else a page with the reason."""
        earlier = [p for p in self.job.out.iterdir() if p.is_dir() and not p.name.startswith(".")]
        earlier = [p for p in earlier if p.name <= self.job.week and (p / page.path).is_file()]
        for week in sorted(earlier, key=lambda p: p.name, reverse=True):
            text = (week / page.path).read_text(encoding="utf-8")
            if marks.is_plain(text):
                continue
            note = f"This page is of an earlier run, see the week and date above. {reason}"
            (self.new / page.path).write_text(marks.noted(text, note), encoding="utf-8")
            if (week / page.notebook_path).is_file():
                shutil.copyfile(week / page.notebook_path, self.new / page.notebook_path)
            return
        from analytics.publish.pages import plain_page

        text = plain_page(page.facts, f"There is no report yet. {reason}")
        (self.new / page.path).write_text(text, encoding="utf-8")

    def _say(
        self, page: PagePlan, status: str, *, seconds: float = 0.0, why: str = "", cell: int | None = None
    ) -> None:
        outcome = ReportOutcome(
            athlete=page.athlete,
            path=self.old / page.path,
            seconds=seconds,
            status=status,
            why=why,
            cell=cell,
        )
        self.outcomes[page.athlete] = outcome
        self.on_done(outcome)


def _link(source: Path, target: Path) -> None:
    try:
        os.link(source, target)
    except OSError:
        shutil.copyfile(source, target)


def _write_record(path: Path, job: Job, outcomes: tuple[ReportOutcome, ...], seconds: float) -> None:
    reports = [
        {
            "athlete": outcome.athlete,
            "status": outcome.status,
            "seconds": round(outcome.seconds, 3),
            **({"why": outcome.why} if outcome.why else {}),
            **({"cell": outcome.cell} if outcome.cell is not None else {}),
        }
        for outcome in outcomes
    ]
    record = {
        "week": job.week,
        "as_of": job.as_of.isoformat(),
        "inputs": dict(sorted(job.inputs.items())),
        "versions": dict(versions()),
        "seconds": round(seconds, 3),
        "reports": reports,
    }
    path.write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8")
