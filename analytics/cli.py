"""Command line: words into calls of `analytics.runs`, results into lines and an exit code."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import TextIO

from tqdm import tqdm

from analytics.errors import BadCall, BadRoster, MissingExtra
from analytics.intake import file_lines
from analytics.publish.batch import ReportOutcome
from analytics.runs import Watch

ALL_GOOD, SOME_FAILED, UNUSABLE = 0, 1, 2
INTERRUPTED = 130
"""As a shell says of a process that was interrupted."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one verb.  Exit code: 0 all good, 1 finished with failures, 2 wrong call or unusable folder."""
    asked = _parser().parse_args(arguments)
    verb: Callable[[argparse.Namespace], int] = asked.verb
    try:
        return verb(asked)
    except KeyboardInterrupt:
        _say("roster: interrupted, nothing was changed", sys.stderr)
        return INTERRUPTED
    except (BadRoster, BadCall, MissingExtra) as problem:
        _say(f"roster: {problem}", sys.stderr)
    except OSError as problem:
        _say(f"roster: {problem.filename or 'the disk'}: {problem.strerror or problem}", sys.stderr)
    return UNUSABLE


def _say(line: str, stream: TextIO | None = None) -> None:
    """One line for a terminal: signs that could move the cursor or break the line are written out."""
    shown = "".join(sign if sign.isprintable() else ascii(sign)[1:-1] for sign in line)
    print(shown, file=stream or sys.stdout)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="roster", description="A roster's training logs, turned into answers."
    )
    verbs = parser.add_subparsers(required=True, metavar="VERB")

    weekly = verbs.add_parser("weekly", help="the main job: tables, one report per athlete, the roster page")
    weekly.add_argument("folder", type=Path)
    weekly.add_argument(
        "--week", help="ISO week such as 2026-W47; default: the last complete one in the data"
    )
    weekly.add_argument("--out", type=Path, default=Path("reports"))
    weekly.add_argument("--athlete", nargs="+", action="extend", metavar="ID", help="render only these")
    _shared_work(weekly)
    weekly.add_argument("--pdf", action="store_true", help="also print each page with an installed browser")
    weekly.set_defaults(verb=_weekly)

    read = verbs.add_parser("read", help="only the loader: sets, set-aside rows, ledger")
    read.add_argument("folder", type=Path)
    read.add_argument("--out", type=Path, required=True)
    read.set_defaults(verb=_read)

    states = verbs.add_parser("states", help="the analysis tables, nothing rendered")
    states.add_argument("folder", type=Path)
    states.add_argument("--as-of", type=date.fromisoformat, metavar="DATE")
    states.add_argument("--out", type=Path, required=True)
    _shared_work(states)
    states.set_defaults(verb=_states)

    look = verbs.add_parser("look", help="one chart and its few numbers")
    look.add_argument("folder", type=Path)
    look.add_argument("athlete")
    look.add_argument("subject", nargs="?", metavar="LIFT_OR_MUSCLE")
    look.add_argument("--out", type=Path, metavar="FILE.png/.svg/.html")
    look.set_defaults(verb=_look)

    consult = verbs.add_parser("consult", help="open JupyterLab on the consult notebook")
    consult.add_argument("folder", type=Path)
    consult.set_defaults(verb=_consult)

    demo = verbs.add_parser("demo", help="write an invented roster folder")
    demo.add_argument("folder", type=Path, metavar="DIR")
    demo.add_argument("--athletes", type=_positive, default=12, metavar="N")
    demo.add_argument("--weeks", type=_positive, default=26, metavar="N")
    demo.add_argument("--seed", type=_whole, default=7, metavar="S")
    demo.add_argument(
        "--truth", type=Path, metavar="DIR", help="also write the truth, to a place outside DIR"
    )
    demo.set_defaults(verb=_demo)
    return parser


def _shared_work(verb: argparse.ArgumentParser) -> None:
    verb.add_argument("--workers", type=_positive, metavar="N", help="processes at once")
    verb.add_argument("--scheduler", metavar="ADDRESS", help="a dask.distributed scheduler")


def _positive(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"{text} is not a positive number")
    return number


def _whole(text: str) -> int:
    number = int(text)
    if number < 0:
        raise argparse.ArgumentTypeError(f"{text} is below zero")
    return number


def _weekly(asked: argparse.Namespace) -> int:
    from analytics.runs import Weekly, weekly

    athletes = None if asked.athlete is None else tuple(asked.athlete)
    ask = Weekly(
        folder=asked.folder,
        today=date.today(),
        week=asked.week,
        out=asked.out,
        athletes=athletes,
        workers=asked.workers,
        scheduler=asked.scheduler,
        pdf=asked.pdf,
    )
    with _Progress() as progress:
        done = weekly(ask, progress.watch())
    for failure in done.failures:
        _say(f"refused: {failure}")
    for remark in done.outcome.remarks:
        _say(remark)
    for report in done.outcome.failed:
        _say(f"failed: {report.athlete or 'roster page'}: {report.why}")
    _say(str(done.outcome.folder / "index.html"))
    return SOME_FAILED if done.outcome.failed or done.failures else ALL_GOOD


class _Progress:
    """Bars with the time left on a terminal; anywhere else one line per finished report."""

    def __init__(self) -> None:
        self._bar: tqdm | None = None

    def __enter__(self) -> _Progress:
        return self

    def __exit__(self, *problem: object) -> None:
        self._close()

    def watch(self) -> Watch:
        """What a run tells as it goes."""
        return Watch(judged=self._judged, reports=self._reports, report=self._report)

    def _close(self) -> None:
        if self._bar is not None:
            self._bar.close()
        self._bar = None

    def _open(self, total: int, unit: str) -> None:
        self._close()
        if sys.stderr.isatty():
            self._bar = tqdm(total=total, unit=unit, file=sys.stderr)

    def _judged(self, athletes: int, judged: int) -> None:
        if self._bar is None:
            self._open(athletes, "athlete")
        if self._bar is not None:
            self._bar.update(judged - self._bar.n)

    def _reports(self, reports: int) -> None:
        self._open(reports, "report")

    def _report(self, report: ReportOutcome) -> None:
        if self._bar is not None:
            self._bar.update()
        else:
            print(
                f"{report.status}: {report.athlete or 'roster page'} ({report.seconds:.1f} s)",
                file=sys.stderr,
            )


def _read(asked: argparse.Namespace) -> int:
    from analytics.runs import read

    intake = read(asked.folder, asked.out, date.today())
    for line in file_lines(intake.ledger):
        _say(line)
    return SOME_FAILED if intake.failures else ALL_GOOD


def _states(asked: argparse.Namespace) -> int:
    from analytics.runs import States, states

    ask = States(
        folder=asked.folder,
        out=asked.out,
        today=date.today(),
        as_of=asked.as_of,
        workers=asked.workers,
        scheduler=asked.scheduler,
    )
    with _Progress() as progress:
        done = states(ask, progress.watch())
    for failure in done.failures:
        _say(f"refused: {failure}")
    listed = done.tables["attention"].filter("listed").height
    athletes = len(done.roster.athletes)
    _say(f"{done.tables['lifts'].height} lifts of {athletes} athletes, {listed} on the list: {asked.out}")
    return SOME_FAILED if done.failures else ALL_GOOD


def _look(asked: argparse.Namespace) -> int:
    from analytics.look import Look, look

    seen = look(
        Look(folder=asked.folder, athlete=asked.athlete, subject=asked.subject, out=asked.out), date.today()
    )
    for line in seen.lines:
        _say(line)
    return SOME_FAILED if seen.failures else ALL_GOOD


def _consult(asked: argparse.Namespace) -> int:
    from analytics.consult.launch import open_consult

    return SOME_FAILED if open_consult(asked.folder, date.today(), print) else ALL_GOOD


def _demo(asked: argparse.Namespace) -> int:
    from analytics.simulate import write_demo

    write_demo(asked.folder, asked.athletes, asked.weeks, asked.seed, asked.truth)
    _say(f"{asked.athletes} invented athletes, {asked.weeks} weeks, seed {asked.seed}: {asked.folder}")
    return ALL_GOOD
