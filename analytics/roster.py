"""Roster: who is coached, with which defaults, phases and aims; `roster.toml` as frozen values."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any

from analytics import declared
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

    @cached_property
    def ids(self) -> dict[str, str]:
        """Athlete id by every word a file may use for one: id or name, in lower case."""
        names = {athlete.name.lower(): athlete.id for athlete in self.athletes}
        return names | {athlete.id.lower(): athlete.id for athlete in self.athletes}

    def athlete(self, athlete_id: str) -> Athlete:
        """The athlete with this id; KeyError if there is none."""
        return self._by_id[athlete_id]

    @cached_property
    def _by_id(self) -> dict[str, Athlete]:
        return {athlete.id: athlete for athlete in self.athletes}


def parse_roster(text: str, where: str, *, muscles: Iterable[str], fields: Iterable[str]) -> Roster:
    """`roster.toml` as a value.

    `muscles` are the known muscle groups (keys of weekly_sets, values of priority), `fields` the known
    fields of an export (keys of ``[columns]``).  Raises BadRoster with the place, what was found and the
    cure; an unknown key is an error that names the nearest known one.
    """
    raw = declared.parsed(text, where)
    muscles, fields = tuple(muscles), tuple(fields)
    declared.known(raw, ("roster", "defaults", "athlete", "columns", "review"), where)
    head = declared.subtable(raw, "roster", where)
    declared.known(head, ("title",), f"{where} [roster]")
    review = declared.subtable(raw, "review", where)
    declared.known(review, ("false_share",), f"{where} [review]")
    false_share = declared.number(
        review.get("false_share", _DEFAULT_FALSE_SHARE), f"{where} [review] false_share", 0, 1
    )
    defaults = declared.subtable(raw, "defaults", where)
    declared.known(defaults, _SHARED_KEYS, f"{where} [defaults]")
    entries = raw.get("athlete", [])
    if not isinstance(entries, list) or not entries:
        raise BadRoster(where, "no [[athlete]] is listed", "Add one [[athlete]] with an id and a name")
    athletes = tuple(_athlete(entry, defaults, where, muscles) for entry in entries)
    _apart(athletes, where)
    return Roster(
        title=declared.text(head.get("title", "Roster"), f"{where} [roster] title"),
        athletes=athletes,
        columns=_columns(raw, where, fields),
        false_share=false_share,
    )


def _apart(athletes: tuple[Athlete, ...], where: str) -> None:
    """Refuse a name that is another athlete's name or id: rows of one could be taken for the other's."""
    seen: dict[str, str] = {}
    for athlete in athletes:
        for word in {athlete.id.casefold(), athlete.name.strip().casefold()}:
            if word in seen:
                raise BadRoster(
                    f"{where} [[athlete]] {athlete.id}",
                    f"{word!r} also names {seen[word]!r}",
                    "Give each athlete a name and an id that no other one has",
                )
            seen[word] = athlete.id


def _athlete(entry: Any, defaults: Mapping[str, Any], where: str, muscles: tuple[str, ...]) -> Athlete:
    if not isinstance(entry, dict):
        raise BadRoster(where, "athlete is not a table", "Write each athlete as [[athlete]]")
    athlete_id = declared.text(entry.get("id"), f"{where} [[athlete]] id")
    place = f"{where} [[athlete]] {athlete_id}"
    if not _ID.fullmatch(athlete_id):
        raise BadRoster(
            place, f"id {athlete_id!r} is not usable as a folder name", "Use letters, digits, - and _"
        )
    declared.known(entry, _ATHLETE_KEYS, place)
    own = {**defaults, **{key: entry[key] for key in _SHARED_KEYS if key in entry}}
    own["weekly_sets"] = {
        **declared.subtable(defaults, "weekly_sets", where),
        **declared.subtable(entry, "weekly_sets", place),
    }
    bodyweight = own.get("bodyweight_kg")
    stage = entry.get("stage_date")
    priority = entry.get("priority", [])
    if not isinstance(priority, list):
        raise BadRoster(f"{place} priority", f"found {priority!r}", 'Write a list such as ["calves"]')
    for muscle in priority:
        declared.one_of(muscle, muscles, f"{place} priority")
    return Athlete(
        id=athlete_id,
        name=declared.text(entry.get("name", athlete_id), f"{place} name"),
        unit=None if "unit" not in own else declared.one_of(own["unit"], UNITS, f"{place} unit"),
        date_order=None
        if "date_order" not in own
        else declared.one_of(own["date_order"], DATE_ORDERS, f"{place} date_order"),
        bodyweight_kg=None
        if bodyweight is None
        else declared.number(bodyweight, f"{place} bodyweight_kg", 20, 400),
        weekly_sets={key: _aim(key, aim, place, muscles) for key, aim in own["weekly_sets"].items()},
        stage_date=None if stage is None else declared.day(stage, f"{place} stage_date"),
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
        declared.known(entry, ("name", "from"), f"{place} phase")
        name = declared.one_of(entry.get("name"), PHASES, f"{place} phase name")
        phases.append(Phase(name=name, start=declared.day(entry.get("from"), f"{place} phase {name} from")))
    return tuple(sorted(phases, key=lambda phase: phase.start))


def _columns(raw: Mapping[str, Any], where: str, fields: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    table = declared.subtable(raw, "columns", where)
    declared.known(table, fields, f"{where} [columns]")
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
    declared.one_of(muscle, muscles, f"{place} weekly_sets")
    where = f"{place} weekly_sets {muscle}"
    if not isinstance(aim, list) or len(aim) != 2:
        raise BadRoster(where, f"found {aim!r}", "Write [low, high], in fractional sets a week")
    low, high = (declared.number(value, where, 0, 100) for value in aim)
    if low > high:
        raise BadRoster(where, f"low {low:g} is above high {high:g}", "Write [low, high]")
    return low, high
