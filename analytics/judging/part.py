"""Part: some athletes of a folder, to be read and studied in one call, and what comes of it."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import polars as pl

from analytics.errors import BadExport
from analytics.intake import (
    Batch,
    Intake,
    Source,
    carried,
    latest_week_end,
    part_of,
    parted,
    read_batch,
    share_of,
)
from analytics.pieces import write_piece
from analytics.week import LARGE, Study, Tables, one_table, study


@dataclass(frozen=True, kw_only=True)
class Part:
    """One call: a batch, and the day as of which it is judged; `intake` where it has been read already."""

    batch: Batch
    as_of: date
    intake: Intake | None = None

    @property
    def first(self) -> str:
        """The first athlete by id: tells parts apart and puts them in order."""
        return min(self.batch.athletes)


@dataclass(frozen=True, kw_only=True)
class Done:
    """What came of a part: its study, `latest` week with sets, files refused.

    `large` tables of a study that crossed to another process are Parquet files, or the bytes of such files.
    """

    first: str
    study: Study
    latest: date | None
    failures: tuple[BadExport, ...]
    large: Mapping[str, Path | bytes]


def judge_here(part: Part) -> Done:
    """Read and studied in this process, all tables in memory."""
    intake = part.intake or read_batch(part.batch, part.as_of)
    return Done(
        first=part.first,
        study=study(intake, part.as_of),
        latest=latest_week_end(intake.sets, part.as_of),
        failures=intake.failures,
        large={},
    )


def judge_to_files(part: Part, scratch: Path) -> Done:
    """The same, with the large tables in a fresh folder below `scratch`."""
    done = judge_here(part)
    folder = Path(tempfile.mkdtemp(dir=scratch))
    files = {name: folder / f"{name}.parquet" for name in LARGE}
    for name, file in files.items():
        write_piece(done.study.now.pop(name), file)
    return replace(done, large=files)


def judge_to_bytes(part: Part) -> Done:
    """The same, with the large tables as bytes, for a machine that does not see this disk."""
    done = judge_here(part)
    packed = {}
    for name in LARGE:
        buffer = io.BytesIO()
        write_piece(done.study.now.pop(name), buffer)
        packed[name] = buffer.getvalue()
    return replace(done, large=packed)


def landed(done: Done, scratch: Path) -> Done:
    """The part's large tables as files on this machine."""
    carried_here = {name: table for name, table in done.large.items() if isinstance(table, bytes)}
    if not carried_here:
        return done
    folder = Path(tempfile.mkdtemp(dir=scratch))
    files = {name: folder / f"{name}.parquet" for name in carried_here}
    for name, table in carried_here.items():
        files[name].write_bytes(table)
    return replace(done, large=files)


def without(done: Done, athletes: Collection[str], part: Part) -> Done:
    """What was found, less some athletes of the part; its large tables are in files, and written anew."""
    gone = pl.col("athlete").is_in(list(athletes))
    batch = part.batch
    files = (*batch.exports, *batch.checkins, *batch.plans)
    names = {source.name for source in files if source.athlete not in athletes}

    def rest(table: pl.DataFrame) -> pl.DataFrame:
        return table.filter(~gone.fill_null(False))

    large: dict[str, Path | bytes] = {}
    for name, file in done.large.items():
        large[name] = Path(str(file)).with_suffix(".rest.parquet")
        write_piece(rest(pl.read_parquet(file)), Path(str(large[name])))
    return replace(
        done,
        study=Study(
            now={name: rest(table) for name, table in done.study.now.items()},
            before={name: rest(table) for name, table in done.study.before.items()},
        ),
        latest=_latest(large, part.as_of),
        failures=tuple(f for f in done.failures if f.path in names),
        large=large,
    )


def joined(known: Done, new: Done, part: Part, scratch: Path) -> Done:
    """Two findings of one part, of different athletes; what is nobody's is taken from the known one.

    `new` has its large tables in files too.
    """
    own = pl.col("athlete").is_not_null()
    folder = Path(tempfile.mkdtemp(dir=scratch))
    large: dict[str, Path | bytes] = {}
    for name in LARGE:
        both = pl.concat([pl.read_parquet(known.large[name]), pl.read_parquet(new.large[name])])
        large[name] = folder / f"{name}.parquet"
        write_piece(both.sort("athlete", maintain_order=True), folder / f"{name}.parquet")

    def both_of(old: Tables, fresh: Tables) -> Tables:
        return {name: one_table(name, [table, fresh[name].filter(own)]) for name, table in old.items()}

    return Done(
        first=part.first,
        study=Study(
            now=both_of(known.study.now, new.study.now), before=both_of(known.study.before, new.study.before)
        ),
        latest=_latest(large, part.as_of),
        failures=(*known.failures, *(f for f in new.failures if f.path in part.batch.own_names)),
        large=large,
    )


def _latest(large: Mapping[str, Path | bytes], as_of: date) -> date | None:
    return latest_week_end(pl.read_parquet(large["sets"], columns=["date"]), as_of)


def packed(part: Part) -> Part:
    """The part with all it needs of this disk."""
    return part if part.intake else replace(part, batch=carried(part.batch))


def parts_of(batch: Batch, as_of: date, most: int) -> list[Part]:
    """The batch in parts of at most `most` athletes.

    A file that may hold many athletes ties them together: then they are read here, once, and studied apart.
    """
    parts = [Part(batch=one, as_of=as_of) for one in parted(batch, most)]
    if len(parts) == 1 or not batch.shared:
        return parts
    return _shares(read_batch(batch, as_of), parts)


def halves(part: Part) -> list[Part]:
    """The part as two, of half the athletes each."""
    ids = sorted(part.batch.athletes)
    middle = len(ids) // 2
    parts = [replace(part, batch=part_of(part.batch, half)) for half in (ids[:middle], ids[middle:])]
    return _shares(part.intake, parts) if part.intake else parts


def _shares(intake: Intake, parts: list[Part]) -> list[Part]:
    return [replace(part, intake=share_of(intake, part.batch)) for part in parts]


def spoiled(part: Part, problem: BaseException) -> Part:
    """The same athlete with every log refused, because something in them stops the judging."""
    why = f"it could not be judged ({type(problem).__name__}: {problem})"
    cure = "This is a fault of the program: keep the file and report it"

    def refused(sources: tuple[Source, ...]) -> tuple[Source, ...]:
        bad = (BadExport(source.name, 1, why, cure) for source in sources)
        return tuple(replace(s, athlete=part.first, carried=b) for s, b in zip(sources, bad, strict=True))

    batch = part.batch
    files = replace(batch, exports=refused(batch.exports), checkins=refused(batch.checkins))
    return replace(part, batch=files, intake=None)
