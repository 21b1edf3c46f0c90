"""Roster: who is coached, with which defaults, phases and aims; `roster.toml` as frozen values."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from rapidfuzz import fuzz, process

from analytics.errors import BadRoster
from analytics.schema import PHASES

UNITS = ("kg", "lb")
DATE_ORDERS = ("dmy", "mdy", "ymd")
_ID = re.compile(r"[A-Za-z0-9_-]{1,64}")
_SHARED_KEYS = ("unit", "date_order", "bodyweight_kg", "weekly_sets")
_ATHLETE_KEYS = ("id", "name", "stage_date", "priority", "phase", *_SHARED_KEYS)
_DEFAULT_FALSE_SHARE = 0.33


@dataclass(frozen=True, kw_only=True)
class Phase:
    """A stretch of the plan: `name` is build, cut, peak or off; it lasts until the next one starts."""

    name: str
    start: date


@dataclass(frozen=True, kw_only=True)
class Athlete:
    """One athlete, defaults filled in.  `weekly_sets`: muscle group to (low, high) fractional sets a week."""

    id: str
    name: str
    unit: str | None = None
    date_order: str | None = None
    bodyweight_kg: float | None = None
    weekly_sets: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    stage_date: date | None = None
    priority: tuple[str, ...] = ()
    phases: tuple[Phase, ...] = ()

    def phase_on(self, day: date) -> str | None:
        """Name of the phase that contains `day`; None before the first."""
        started = [phase for phase in self.phases if phase.start <= day]
        return started[-1].name if started else None

    def weeks_to_stage(self, day: date) -> float | None:
        """Weeks from `day` to the stage date (negative once it is past); None without one."""
        return None if self.stage_date is None else (self.stage_date - day).days / 7


@dataclass(frozen=True, kw_only=True)
class Roster:
    """All athletes in file order, extra column headers, and the limit on the share of false names."""

    title: str
    athletes: tuple[Athlete, ...]
    columns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    false_share: float = _DEFAULT_FALSE_SHARE

    def athlete(self, athlete_id: str) -> Athlete:
        """The athlete with this id; KeyError if there is none."""
        for athlete in self.athletes:
            if athlete.id == athlete_id:
                return athlete
        raise KeyError(athlete_id)


def parse_roster(text: str, where: str, *, muscles: Iterable[str], fields: Iterable[str]) -> Roster:
    """`roster.toml` as a value.

    `muscles` are the known muscle groups (keys of weekly_sets, values of priority), `fields` the known
    fields of an export (keys of ``[columns]``).  Raises BadRoster with the place, what was found and the
    cure; an unknown key is an error that names the nearest known one.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise BadRoster(where, str(problem), "Mend the TOML there and run again") from problem
    muscles, fields = tuple(muscles), tuple(fields)
    _known(raw, ("roster", "defaults", "athlete", "columns", "review"), where)
    head = _table(raw, "roster", where)
    _known(head, ("title",), f"{where} [roster]")
    review = _table(raw, "review", where)
    _known(review, ("false_share",), f"{where} [review]")
    false_share = _number(
        review.get("false_share", _DEFAULT_FALSE_SHARE), f"{where} [review] false_share", 0, 1
    )
    defaults = _table(raw, "defaults", where)
    _known(defaults, _SHARED_KEYS, f"{where} [defaults]")
    entries = raw.get("athlete", [])
    if not isinstance(entries, list) or not entries:
        raise BadRoster(where, "no [[athlete]] is listed", "Add one [[athlete]] with an id and a name")
    athletes = tuple(_athlete(entry, defaults, where, muscles) for entry in entries)
    ids = [athlete.id.lower() for athlete in athletes]
    for athlete_id in ids:
        if ids.count(athlete_id) > 1:
            raise BadRoster(
                where, f"athlete id {athlete_id!r} stands twice", "Give each athlete an id of their own"
            )
    return Roster(
        title=_string(head.get("title", "Roster"), f"{where} [roster] title"),
        athletes=athletes,
        columns=_columns(raw, where, fields),
        false_share=false_share,
    )


def _athlete(entry: Any, defaults: Mapping[str, Any], where: str, muscles: tuple[str, ...]) -> Athlete:
    if not isinstance(entry, dict):
        raise BadRoster(where, "athlete is not a table", "Write each athlete as [[athlete]]")
    athlete_id = _string(entry.get("id"), f"{where} [[athlete]] id")
    place = f"{where} [[athlete]] {athlete_id}"
    if not _ID.fullmatch(athlete_id):
        raise BadRoster(
            place, f"id {athlete_id!r} is not usable as a folder name", "Use letters, digits, - and _"
        )
    _known(entry, _ATHLETE_KEYS, place)
    own = {**defaults, **{key: entry[key] for key in _SHARED_KEYS if key in entry}}
    own["weekly_sets"] = {**_table(defaults, "weekly_sets", where), **_table(entry, "weekly_sets", place)}
    bodyweight = own.get("bodyweight_kg")
    stage = entry.get("stage_date")
    priority = entry.get("priority", [])
    if not isinstance(priority, list):
        raise BadRoster(f"{place} priority", f"found {priority!r}", 'Write a list such as ["calves"]')
    for muscle in priority:
        _one_of(muscle, muscles, f"{place} priority")
    return Athlete(
        id=athlete_id,
        name=_string(entry.get("name", athlete_id), f"{place} name"),
        unit=None if "unit" not in own else _one_of(own["unit"], UNITS, f"{place} unit"),
        date_order=None
        if "date_order" not in own
        else _one_of(own["date_order"], DATE_ORDERS, f"{place} date_order"),
        bodyweight_kg=None if bodyweight is None else _number(bodyweight, f"{place} bodyweight_kg", 20, 400),
        weekly_sets={key: _aim(key, aim, place, muscles) for key, aim in own["weekly_sets"].items()},
        stage_date=None if stage is None else _day(stage, f"{place} stage_date"),
        priority=tuple(priority),
        phases=_phases(entry.get("phase", []), place),
    )


def _phases(entries: Any, place: str) -> tuple[Phase, ...]:
    if not isinstance(entries, list):
        raise BadRoster(
            f"{place} phase", "phase is not a list of tables", "Write each one as [[athlete.phase]]"
        )
    phases = []
    for entry in entries:
        _known(entry, ("name", "from"), f"{place} phase")
        name = _one_of(entry.get("name"), PHASES, f"{place} phase name")
        phases.append(Phase(name=name, start=_day(entry.get("from"), f"{place} phase {name} from")))
    return tuple(sorted(phases, key=lambda phase: phase.start))


def _columns(raw: Mapping[str, Any], where: str, fields: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    table = _table(raw, "columns", where)
    _known(table, fields, f"{where} [columns]")
    columns = {}
    for key, value in table.items():
        names = [value] if isinstance(value, str) else value
        if not isinstance(names, list) or not all(isinstance(name, str) for name in names):
            raise BadRoster(
                f"{where} [columns] {key}", f"found {value!r}", 'Write a header or a list: ["Weight lifted"]'
            )
        columns[key] = tuple(names)
    return columns


def _aim(muscle: str, aim: Any, place: str, muscles: tuple[str, ...]) -> tuple[float, float]:
    _one_of(muscle, muscles, f"{place} weekly_sets")
    where = f"{place} weekly_sets {muscle}"
    if not isinstance(aim, list) or len(aim) != 2:
        raise BadRoster(where, f"found {aim!r}", "Write [low, high], in fractional sets a week")
    low, high = (_number(value, where, 0, 100) for value in aim)
    if low > high:
        raise BadRoster(where, f"low {low:g} is above high {high:g}", "Write [low, high]")
    return low, high


def _known(table: Mapping[str, Any], keys: tuple[str, ...], where: str) -> None:
    if not isinstance(table, dict):
        raise BadRoster(where, f"found {table!r}", "Write a table here")
    for key in table:
        if key not in keys:
            raise BadRoster(where, f"unknown key {key!r}", _nearest(key, keys))


def _nearest(word: str, known: tuple[str, ...]) -> str:
    best = process.extractOne(word, known, scorer=fuzz.ratio)
    guess = f"The nearest known one is {best[0]!r}; all" if best and best[1] >= 50 else "All"
    return f"{guess} known ones: {', '.join(sorted(known))}"


def _table(raw: Mapping[str, Any], key: str, where: str) -> dict[str, Any]:
    table = raw.get(key, {})
    if not isinstance(table, dict):
        raise BadRoster(f"{where} {key}", f"found {table!r}", f"Write it as a table [{key}]")
    return table


def _one_of(value: Any, choices: tuple[str, ...], where: str) -> str:
    if value not in choices:
        raise BadRoster(where, f"found {value!r}", _nearest(str(value), choices))
    return str(value)


def _string(value: Any, where: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise BadRoster(where, f"found {value!r}", "Write a text in quotes")
    return value


def _number(value: Any, where: str, lowest: float, highest: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not lowest <= value <= highest:
        raise BadRoster(where, f"found {value!r}", f"Write a number from {lowest:g} to {highest:g}")
    return float(value)


def _day(value: Any, where: str) -> date:
    if type(value) is not date:
        raise BadRoster(where, f"found {value!r}", "Write a date without quotes, such as 2027-04-10")
    return value
