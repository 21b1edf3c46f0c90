"""Demo: an invented roster folder on disk, its truth in another folder."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import polars as pl

from analytics.errors import BadCall
from analytics.schema import KG_PER_LB
from analytics.simulate.cast import CAST
from analytics.simulate.damage import broken_rows, with_typo
from analytics.simulate.exports import export_text
from analytics.simulate.part import Part, play
from analytics.simulate.plain_exports import write_plain
from analytics.simulate.roster import FEWEST_WEEKS, simulate_members
from analytics.simulate.style import LANGUAGES
from analytics.simulate.texts import DECISIONS, OWN_EXERCISE, OWN_ID, OWN_NAME, readme, roster_toml, subject
from analytics.simulate.world import LAST_DAY, Simulated, World

_BATCH = 100
_CM_PER_INCH = 2.54
_TRUTH = ("truth_lifts", "truth_muscles", "athletes")


def write_demo(folder: Path, athletes: int, weeks: int, seed: int, truth: Path | None) -> None:
    """Write an invented roster folder; with `truth`, also the true roles, strengths and responses there.

    The first twelve athletes are the cast (``cast.CAST``), each with a log in a layout and language of their
    own; all further ones come from the default world and write one row per set.  The same arguments give the
    same bytes.  Raises BadCall for fewer than one athlete, fewer than eight weeks, a folder that holds
    anything, or a truth folder inside the roster folder.
    """
    if athletes < 1 or weeks < FEWEST_WEEKS:
        raise BadCall(f"a demo needs at least 1 athlete and {FEWEST_WEEKS} weeks, not {athletes} and {weeks}")
    if truth is not None and folder.resolve() in (truth.resolve(), *truth.resolve().parents):
        raise BadCall(f"{truth} lies inside {folder}: keep the truth out of what is analysed")
    if folder.exists() and any(folder.iterdir()):
        raise BadCall(f"{folder} is not empty: name a new folder, so that nothing of yours is mixed or lost")
    for sub in ("exports", "checkins"):
        (folder / sub).mkdir(parents=True, exist_ok=True)
    parts = CAST[:athletes]
    members = []
    calendars, truths = [], []
    for k, part in enumerate(parts):
        simulated = _renamed(play(part, weeks, seed * 100_000 + 1_000 * (k + 1)), [part.id])
        simulated = _own_exercise(simulated) if part.id == "osprey" else simulated
        members.append((part, simulated))
        _write_log(folder, part, simulated, seed)
        _write_checkins(folder, part, simulated)
        calendars.append(simulated.calendar)
        truths.append(simulated)
    further: list[tuple[str, str, float]] = []
    for start in range(len(parts), athletes, _BATCH):
        batch = range(start, min(start + _BATCH, athletes))
        ids = [extra_id(k) for k in batch]
        simulated = _renamed(simulate_members(World(), batch, weeks, seed), ids)
        further += write_plain(folder, simulated)
        calendars.append(simulated.calendar)
        truths += [simulated] if truth is not None else []
    (folder / "roster.toml").write_text(roster_toml(members, further), encoding="utf-8")
    (folder / "exercises.toml").write_text(OWN_EXERCISE, encoding="utf-8")
    calendar = pl.concat(calendars).sort("athlete", "from")
    calendar.write_csv(folder / "calendar.csv")
    _write_decisions(folder / "decisions.csv", {part.id: simulated for part, simulated in members})
    (folder / "README.md").write_text(readme(parts, athletes, weeks, seed), encoding="utf-8")
    if truth is not None:
        _write_truth(truth, truths)


def extra_id(index: int) -> str:
    """Id of an athlete beyond the cast: a bird and a number."""
    return f"{CAST[index % len(CAST)].id}-{index:04d}"


def _renamed(simulated: Simulated, ids: list[str]) -> Simulated:
    old = simulated.athletes["athlete"].to_list()
    names = dict(zip(old, ids, strict=True))
    return simulated.with_athletes(names)


def _own_exercise(simulated: Simulated) -> Simulated:
    """One rowing exercise of this athlete is on the coach's own machine."""
    rows = simulated.sets.filter(pl.col("family") == "horizontal_pull")
    if rows.is_empty():
        return simulated
    return simulated.with_exercise(rows["exercise"][0], OWN_ID, OWN_NAME)


def _write_log(folder: Path, part: Part, simulated: Simulated, seed: int) -> None:
    style, target = part.style, folder / "exports" / part.id
    target.mkdir(exist_ok=True)
    sets = _with_notes(simulated.sets, part, seed)
    sets = with_typo(sets) if part.id == "plover" else sets
    for name, rows in _files(sets, style.monthly):
        text = export_text(rows, style)
        if part.id in ("heron", "lapwing"):
            text += broken_rows(rows, style, part.id)
        (target / name).write_bytes(text.encode(style.encoding))


def _files(sets: pl.DataFrame, monthly: bool) -> Iterator[tuple[str, pl.DataFrame]]:
    """One file, or two whose last and first week are the same workouts."""
    if not monthly:
        yield "training-log.csv", sets
        return
    last = sets["date"].max()
    assert isinstance(last, date)
    middle = last - timedelta(days=56)
    yield "log-part-1.txt", sets.filter(pl.col("date") <= middle)
    yield "log-part-2.txt", sets.filter(pl.col("date") > middle - timedelta(days=7))


def _with_notes(sets: pl.DataFrame, part: Part, seed: int) -> pl.DataFrame:
    notes = LANGUAGES[part.style.language].notes
    random = np.random.default_rng([seed, len(part.id), *part.id.encode()])
    pick = random.integers(0, len(notes), sets.height)
    wanted = (random.random(sets.height) < 0.012) & (sets["role"] != "warm_up").to_numpy()
    text = pl.Series("note", notes)[pick.tolist()]
    return sets.with_columns(note=pl.when(pl.Series(wanted)).then(text))


def _write_checkins(folder: Path, part: Part, simulated: Simulated) -> None:
    """One row a day, one column a measure and side, the unit in its head."""
    pounds = part.style.unit == "lb"
    units = {
        "kg": ("lb", KG_PER_LB) if pounds else ("kg", 1.0),
        "cm": ("in", _CM_PER_INCH) if pounds else ("cm", 1.0),
    }
    cells: dict[date, dict[str, str]] = {}
    heads: list[str] = []
    for row in simulated.checkins.sort("date", maintain_order=True).iter_rows(named=True):
        unit, size = units[row["unit"]]
        head = " ".join(filter(None, (row["measure"].replace("_", " "), row["side"], f"({unit})")))
        cells.setdefault(row["date"], {})[head] = f"{row['value'] / size:.1f}"
        heads += [] if head in heads else [head]
    with (folder / "checkins" / f"{part.id}.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["date", *heads])
        writer.writerows(
            [day.isoformat(), *(values.get(head, "") for head in heads)] for day, values in cells.items()
        )


def _write_decisions(path: Path, members: dict[str, Simulated]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["date", "athlete", "subject", "what", "why"])
        for weeks_ago, athlete, about, what, why in DECISIONS:
            named = subject(about, members[athlete]) if athlete in members else None
            if named is not None:
                day = LAST_DAY - timedelta(weeks=weeks_ago)
                writer.writerow([day.isoformat(), athlete, named, what, why])


def _write_truth(target: Path, truths: list[Simulated]) -> None:
    target.mkdir(parents=True, exist_ok=True)
    for name in _TRUTH:
        pl.concat([getattr(t, name) for t in truths]).write_csv(target / f"{name.removeprefix('truth_')}.csv")
    pl.concat([t.sets for t in truths]).write_parquet(target / "sets.parquet")
