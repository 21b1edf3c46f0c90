"""Kept: what an earlier run found, for athletes whose files have not changed since."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Collection, Iterable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from analytics.errors import BadExport
from analytics.intake import Batch, Source, part_of, read_bytes
from analytics.judging.part import Done, Part, without
from analytics.pieces import write_piece
from analytics.versions import code_hash, versions
from analytics.week import Study, Tables

_FACTS = "facts.json"


@dataclass(kw_only=True)
class Kept:
    """A `folder` of earlier findings: a folder for each part, never changed, named after its first athlete.

    An athlete's findings hold while `common` does (program, day, roster, what all athletes share) and every
    file of the athlete is as it was, byte by byte.  `used` collects the names of what had a use, `keys` each
    athlete's hash as it was before judging began: a file that changes meanwhile is judged again next time.
    """

    folder: Path
    common: str
    used: set[str]
    keys: dict[str, str] = field(default_factory=dict)

    def left(self, part: Part, scratch: Path) -> tuple[Part | None, Done | None]:
        """What is left to judge of a part, and what is known of its other athletes, in files in `scratch`."""
        keys = keys_of(part.batch)
        self.keys |= keys
        for place in sorted(self.folder.glob(f"{part.first}.*")):
            try:
                facts, found = _loaded(place, Path(tempfile.mkdtemp(dir=scratch)))
            except (OSError, ValueError, KeyError, TypeError, pl.exceptions.PolarsError):
                continue  # another run took it away, or something damaged it
            same = [one for one in keys if facts["athletes"].get(one) == keys[one]]
            if facts["common"] != self.common or not same:
                continue
            known = replace(found, first=part.first)
            if len(same) == len(keys) == len(facts["athletes"]):
                self.used.add(place.name)
                return None, known
            others = set(facts["athletes"]) - set(same)
            rest = sorted(set(keys) - set(same))
            known = without(known, others, part)
            if not rest:
                self.keep(part, known)
                return None, known
            return replace(part, batch=part_of(part.batch, rest)), known
        return part, None

    def keep(self, part: Part, done: Done) -> None:
        """What was found of a part, for the next run; where it cannot be written, that one starts afresh."""
        with suppress(OSError, pl.exceptions.PolarsError):
            self._write(part, done)

    def _write(self, part: Part, done: Done) -> None:
        self.folder.mkdir(parents=True, exist_ok=True)
        place = Path(tempfile.mkdtemp(dir=self.folder, prefix=".new-"))
        for name, table in _named(done.study):
            write_piece(table, place / f"{name}.parquet")
        for name, file in done.large.items():
            shutil.copyfile(str(file), place / f"large.{name}.parquet")
        facts = {
            "common": self.common,
            "athletes": {one: self.keys[one] for one in part.batch.athletes},
            "failures": [list(failure.args) for failure in done.failures],
            "latest": None if done.latest is None else done.latest.isoformat(),
        }
        text = json.dumps(facts, sort_keys=True)
        (place / _FACTS).write_text(text, encoding="utf-8")
        name = f"{part.first}.{hashlib.sha256(text.encode()).hexdigest()[:16]}"
        self.used.add(name)
        try:
            place.rename(self.folder / name)
        except OSError:  # the same findings are there already
            shutil.rmtree(place, ignore_errors=True)


def sweep(folder: Path, used: Collection[str]) -> None:
    """Take away what a run had no use for: findings of other days, other files, former athletes."""
    for place in list(folder.glob("*")) if folder.is_dir() else []:
        if place.name not in used:
            shutil.rmtree(place, ignore_errors=True)


def common_of(batch: Batch, as_of: date) -> str:
    """A hash of all that every athlete's findings depend on."""
    shared = (*batch.plans, *batch.shared, *(s for s in batch.checkins if s.athlete is None))
    said = [code_hash(), json.dumps(dict(versions())), as_of.isoformat(), repr(batch.roster)]
    return _hash([*said, batch.own_exercises or "", *_contents(shared)])


def keys_of(batch: Batch) -> dict[str, str]:
    """A hash of each athlete's own files."""
    own: dict[str, list[Source]] = {athlete: [] for athlete in batch.athletes}
    for source in (*batch.exports, *batch.checkins):
        if source.athlete is not None:
            own[source.athlete].append(source)
    return {athlete: _hash(_contents(sources)) for athlete, sources in own.items()}


def _contents(sources: Iterable[Source]) -> list[str]:
    found = []
    for source in sources:
        try:
            found += [source.name, hashlib.sha256(read_bytes(source)).hexdigest()]
        except BadExport as problem:
            found += [source.name, str(problem)]
    return found


def _hash(parts: Iterable[str]) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def _named(study: Study) -> Iterable[tuple[str, pl.DataFrame]]:
    for week, tables in (("now", study.now), ("before", study.before)):
        yield from ((f"{week}.{name}", table) for name, table in tables.items())


def _loaded(place: Path, own: Path) -> tuple[dict[str, Any], Done]:
    """Facts and findings of one kept part, its files linked into the folder `own`, where nobody sweeps."""
    weeks: dict[str, Tables] = {"now": {}, "before": {}}
    large: dict[str, Path | bytes] = {}
    for file in sorted(place.iterdir()):
        _linked(file, own / file.name)
        week, _, rest = file.name.partition(".")
        if week == "large":
            large[rest.removesuffix(".parquet")] = own / file.name
        elif week in weeks:
            weeks[week][rest.removesuffix(".parquet")] = pl.read_parquet(own / file.name)
    facts = json.loads((own / _FACTS).read_text(encoding="utf-8"))
    found = Done(
        first=min(facts["athletes"]),
        study=Study(**weeks),
        latest=date.fromisoformat(facts["latest"]) if facts["latest"] else None,
        failures=tuple(BadExport(*failure) for failure in facts["failures"]),
        large=large,
    )
    return {"common": facts["common"], "athletes": dict(facts["athletes"])}, found


def _linked(source: Path, target: Path) -> None:
    try:
        os.link(source, target)
    except OSError:
        shutil.copyfile(source, target)
