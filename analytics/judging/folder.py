"""Folder: a whole roster folder judged, by however many workers, with the same answers."""

from __future__ import annotations

import tempfile
from collections import deque
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import partial
from pathlib import Path

import polars as pl

from analytics.errors import BadCall, BadExport
from analytics.intake import Batch, one_batch
from analytics.judging.crew import Crew, crew
from analytics.judging.kept import Kept, common_of, sweep
from analytics.judging.part import Done, Part, halves, joined, judge_to_files, landed, parts_of, spoiled
from analytics.pieces import Pieces
from analytics.roster import Roster
from analytics.week import LARGE, whole
from analytics.workers import settled

MOST_ATHLETES, FEWEST_ATHLETES, PARTS = 80, 40, 8
"""A part has at most 80 athletes, for memory; else a roster makes 8 parts, but of at least 40 athletes: below
that, starting a process costs more than it gives.
"""
_MOST_LOST = 3

OnJudged = Callable[[int, int], None]
"""Told how many athletes there are, and how many of them are judged."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What is to be judged: a roster folder as of a day, or (None) as of its last week complete by `today`.

    `scratch` is a folder for tables between processes, made if need be.  `kept` is one for what was found,
    for the next run to start from (None: start afresh).  `scheduler` names a Dask scheduler.
    """

    folder: Path
    as_of: date | None
    today: date
    scratch: Path
    kept: Path | None = None
    workers: int | None = None
    scheduler: str | None = None


@dataclass(frozen=True, kw_only=True)
class Judged:
    """A roster, its tables as known on `as_of`, and the files that were refused.

    The large tables are `Pieces`, in files that go when ``judged`` ends.
    """

    roster: Roster
    as_of: date
    tables: Mapping[str, pl.DataFrame | Pieces]
    failures: tuple[BadExport, ...]


@contextmanager
def judged(asked: Asked, on_judged: OnJudged) -> Iterator[Judged]:
    """Everything the folder says.

    A part that fails is tried again in halves, until the athlete who makes it fail stands alone: their files
    are refused, the others go on.  Raises BadRoster when the folder cannot be used, BadCall when it holds no
    set of a complete week or worker processes die again and again, MissingExtra without Dask for a scheduler.
    """
    batch = one_batch(asked.folder)
    with _scratch(asked.scratch) as scratch:
        last_sunday = asked.today - timedelta(days=asked.today.isoweekday() % 7)
        as_of = asked.as_of or last_sunday
        run = _Run(asked=asked, batch=batch, scratch=scratch, on_judged=on_judged)
        done = run.all_parts(as_of)
        if asked.as_of is None:
            latest = max((one.latest for one in done if one.latest is not None), default=None)
            if latest is None:
                raise BadCall(
                    f"{asked.folder} holds no set of a week that is complete by {asked.today}. "
                    "Add exports, or name a --week"
                )
            if latest < as_of:
                as_of = latest
                done = run.all_parts(as_of)
        if asked.kept is not None:
            sweep(asked.kept, run.used)
        yield Judged(
            roster=batch.roster,
            as_of=as_of,
            tables={**whole([one.study for one in done], batch.roster, as_of), **_pieces(done)},
            failures=tuple(failure for one in done for failure in one.failures),
        )


@contextmanager
def _scratch(place: Path) -> Iterator[Path]:
    """A folder in `place` that goes in the end, and `place` with it where nothing else came to be in it."""
    there = place.exists()
    place.mkdir(parents=True, exist_ok=True)
    try:
        with tempfile.TemporaryDirectory(prefix=".judging-", dir=place) as folder:
            yield Path(folder)
    finally:
        if not there:
            with suppress(OSError):
                place.rmdir()


def _pieces(done: list[Done]) -> dict[str, Pieces]:
    """The large tables, in files."""
    files = {name: [one.large[name] for one in done] for name in LARGE}
    return {name: Pieces(files=tuple(f for f in some if isinstance(f, Path))) for name, some in files.items()}


@dataclass(frozen=True, kw_only=True)
class _Run:
    """One run over a folder; `used` names what was kept and had a use."""

    asked: Asked
    batch: Batch
    scratch: Path
    on_judged: OnJudged
    used: set[str] = field(default_factory=set)

    def all_parts(self, as_of: date) -> list[Done]:
        """Every part of the batch, in order of athletes."""
        asked, count = self.asked, len(self.batch.athletes)
        most = min(max(-(-count // PARTS), FEWEST_ATHLETES), MOST_ATHLETES)
        kept = None
        if asked.kept is not None and not self.batch.shared:
            kept = Kept(folder=asked.kept, common=common_of(self.batch, as_of), used=self.used)
        parts = _Parts(scratch=self.scratch, kept=kept, on_judged=partial(self.on_judged, count))
        for part in parts_of(self.batch, as_of, most):
            parts.add(part)
        lost = 0
        while parts.waiting:
            alone = len(parts.waiting) == 1 and asked.scheduler is None and not lost
            with crew(alone, 1 if lost else asked.workers, asked.scheduler, self.scratch) as hands:
                try:
                    parts.settle(hands)
                except BrokenProcessPool as problem:
                    lost += 1
                    if lost > _MOST_LOST:
                        cure = "free some memory"
                        raise BadCall(f"the worker processes end again and again: {cure}") from problem
        return sorted(parts.done, key=lambda one: one.first)


@dataclass(kw_only=True)
class _Parts:
    """The parts `waiting`, by first athlete, with what was `known` of their other athletes; those `done`."""

    scratch: Path
    kept: Kept | None
    on_judged: Callable[[int], None]
    waiting: dict[str, Part] = field(default_factory=dict)
    known: dict[str, tuple[Part, Done]] = field(default_factory=dict)
    done: list[Done] = field(default_factory=list)
    athletes: int = 0

    def add(self, part: Part) -> None:
        """A part to judge, as far as it is not known."""
        left, known = (part, None) if self.kept is None else self.kept.left(part, self.scratch)
        if left is None and known is not None:
            self._count(known, part)
        elif left is not None:
            self.waiting[left.first] = left
            if known is not None:
                self.known[left.first] = (part, known)

    def settle(self, hands: Crew) -> None:
        """Make a crew settle all that waits.  Raises BrokenProcessPool when a process dies: try again."""
        todo = deque(self.waiting.values())

        def take() -> Part | None:
            return hands.outbound(todo.popleft()) if todo else None

        for part, future in settled(hands.executor, hands.make, take, hands.width):
            problem = future.exception()
            if isinstance(problem, BrokenProcessPool):
                raise problem
            asked = self.waiting.pop(part.first)
            whole_part, known = self.known.pop(part.first, (asked, None))
            if problem is None:
                done = landed(future.result(), self.scratch)
                if known is not None:
                    done = joined(known, done, whole_part, self.scratch)
                if self.kept is not None:
                    self.kept.keep(whole_part, done)
                self._count(done, whole_part)
            elif len(whole_part.batch.athletes) > 1:
                todo.extendleft(halves(whole_part))
                self.waiting.update({half.first: half for half in halves(whole_part)})
            else:
                self._count(judge_to_files(spoiled(asked, problem), self.scratch), asked)

    def _count(self, done: Done, part: Part) -> None:
        self.done.append(done)
        self.athletes += len(part.batch.athletes)
        self.on_judged(self.athletes)
