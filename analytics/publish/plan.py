"""The plan of a run: every page with the data it may see, and a key that changes when the page would."""

from __future__ import annotations

import functools
import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import polars as pl

from analytics.errors import BadCall
from analytics.publish import tables
from analytics.publish.job import ROSTER_PAGE, Job
from analytics.publish.report import Facts, Report
from analytics.publish.source import load
from analytics.versions import code_hash, own_version, versions
from analytics.week import LARGE


@dataclass(frozen=True, kw_only=True)
class PagePlan:
    """One page to be: `path` and `notebook_path` relative to the week's folder, and the frames it may see."""

    athlete: str
    path: str
    notebook: str
    frames: Callable[[], Mapping[str, pl.DataFrame]]
    facts: Facts

    @property
    def notebook_path(self) -> str:
        """Where the executed notebook goes, relative to the week's folder."""
        return "roster.ipynb" if self.athlete == ROSTER_PAGE else self.path.removesuffix(".html") + ".ipynb"

    def report(self, job: Job, kernel: str, modules: tuple[str, ...], scratch: str = "") -> Report:
        """The page's ingredients as one value that travels to a worker."""
        return Report(
            athlete=self.athlete,
            notebook=self.notebook,
            tables={name: tables.arrow_bytes(frame) for name, frame in self.frames().items()},
            facts=self.facts,
            limits=job.limits,
            kernel=kernel,
            modules=modules,
            scratch=scratch,
        )


def plan(job: Job) -> tuple[PagePlan, ...]:
    """One page per athlete in roster order, then the roster page.  Raises BadCall without the notebooks."""
    athlete_notebook = _notebook(job.notebooks / "athlete.ipynb")
    roster_notebook = _notebook(job.notebooks / "roster.ipynb")
    split = tables.shares(job.tables)
    pages = []
    for athlete in job.roster.athletes:
        digest = hashlib.sha256()
        for name, share in sorted(split.items()):
            digest.update(name.encode() + share.digest(athlete.id))
        facts = _facts(job, athlete.name, "../index.html", (athlete_notebook, digest.hexdigest()))
        path = f"athletes/{athlete.id}.html"
        frames = functools.partial(_own, split, athlete.id)
        pages.append(
            PagePlan(athlete=athlete.id, path=path, notebook=athlete_notebook, frames=frames, facts=facts)
        )
    small = {name: t for name, t in job.tables.items() if name not in LARGE and isinstance(t, pl.DataFrame)}
    facts = _facts(job, job.roster.title, "", (roster_notebook, frames_hash(small)))
    path, notebook = "index.html", roster_notebook
    pages.append(
        PagePlan(athlete=ROSTER_PAGE, path=path, notebook=notebook, frames=lambda: small, facts=facts)
    )
    return tuple(pages)


def _own(split: Mapping[str, tables.Shares], athlete: str) -> dict[str, pl.DataFrame]:
    return {name: share.of(athlete) for name, share in split.items()}


def frames_hash(frames: Mapping[str, pl.DataFrame]) -> str:
    """A hash of the frames' names, columns, types and rows, in order; the same in every process."""
    digest = hashlib.sha256()
    for name, frame in sorted(frames.items()):
        _add(digest, _head(name, frame), tables.row_hashes(frame))
    return digest.hexdigest()


def _head(name: str, frame: pl.DataFrame) -> bytes:
    return f"{name}{frame.schema}".encode()


def _add(digest: hashlib._Hash, head: bytes, rows: np.ndarray) -> None:
    digest.update(head + len(rows).to_bytes(8))
    digest.update(rows.tobytes())


def _facts(job: Job, title: str, home: str, made_from: tuple[str, str]) -> Facts:
    notebook, inputs = made_from
    said = [title, job.week, job.as_of.isoformat(), *job.cautions]
    key = _hash([code_hash(), json.dumps(dict(versions())), notebook, inputs, *said])
    return Facts(
        title=title,
        week=job.week,
        as_of=job.as_of.isoformat(),
        version=own_version(),
        key=key,
        inputs_hash=inputs,
        home=home,
        cautions=job.cautions,
    )


def _notebook(path: Path) -> str:
    if not path.is_file():
        raise BadCall(f"{path}: no such notebook. Name a folder that holds athlete.ipynb and roster.ipynb")
    return json.dumps(load(path))


def _hash(parts: Iterable[str]) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()
