"""Reader: the packaged catalogue, and the coach's own exercises laid over it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from importlib import resources
from typing import Any

from rapidfuzz import fuzz, process

from analytics.catalogue.exercise import ASSISTING_SHARE, BASES, EQUIPMENT, KINDS, Catalogue, Exercise
from analytics.catalogue.matching import COACH, LISTED, MADE, Matcher
from analytics.errors import BadRoster

_ID = re.compile(r"[a-z][a-z0-9_]{0,63}")
_FILES = ("legs.toml", "push.toml", "pull.toml", "trunk.toml")
_KEYS = (
    "name",
    "family",
    "equipment",
    "kind",
    "one_sided",
    "bodyweight_share",
    "direct",
    "assisting",
    "shares",
    "basis",
    "names",
)
_COACH_KEYS = (*(key for key in _KEYS if key != "basis"), "like")
_NEEDED = ("name", "family", "direct")
_MADE_WORDS = {"guided_barbell": ("smith machine",), "bodyweight": ("bodyweight", "weighted"), "other": ()}


def load_catalogue(coach_toml: str | None = None, where: str = "exercises.toml") -> Catalogue:
    """The packaged catalogue with the coach's `exercises.toml` text (not a path) laid over it.

    In the coach's file each exercise is a table named by its id.  For an exercise of the catalogue, keys that
    are given replace the packaged ones and `names` are added; a new exercise needs `name`, `family` and
    `direct`, or `like`, the id of an exercise from which all else is taken (the lift on another machine).
    `shares` sets single muscle groups: ``shares = { biceps = 0.4 }``; 1 makes a prime mover, 0 takes one out.
    A name in the coach's file wins over the catalogue's.  Raises BadRoster.
    """
    anatomy = tomllib.loads(_packaged("muscles.toml"))
    translated = tomllib.loads(_packaged("languages.toml"))
    raw: dict[str, dict[str, Any]] = {}
    for file in _FILES:
        raw |= tomllib.loads(_packaged(file))
    for exercise_id, by_language in translated.items():
        raw[exercise_id]["names"] = [*raw[exercise_id].get("names", []), *_flat(by_language)]
    own = {} if coach_toml is None else _parsed(coach_toml, where)
    raw = _laid_over(raw, own, where)
    muscles, families = tuple(anatomy["muscle"]), tuple(anatomy["family"])
    exercises = {
        exercise_id: _exercise(exercise_id, raw[exercise_id], f"{where} [{exercise_id}]", muscles, families)
        for exercise_id in sorted(raw)
    }
    try:
        matcher = Matcher(_named(exercises, own))
    except ValueError as problem:
        raise BadRoster(where, str(problem), "Give each name to one exercise only") from problem
    return Catalogue(
        exercises=exercises,
        muscle_names=anatomy["muscle"],
        family_names=anatomy["family"],
        opposing=tuple((one, other) for one, other in anatomy["opposing"]),
        girths={girth: tuple(groups) for girth, groups in anatomy["girth"].items()},
        matcher=matcher,
    )


def _packaged(file: str) -> str:
    return resources.files("analytics.catalogue").joinpath(file).read_text(encoding="utf-8")


def _flat(by_language: Mapping[str, list[str]]) -> Iterator[str]:
    for names in by_language.values():
        yield from names


def _parsed(text: str, where: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise BadRoster(where, str(problem), "Mend the TOML there and run again") from problem


def _laid_over(
    packaged: dict[str, dict[str, Any]], own: Mapping[str, Any], where: str
) -> dict[str, dict[str, Any]]:
    laid = dict(packaged)
    for exercise_id, entry in own.items():
        place = f"{where} [{exercise_id}]"
        if not _ID.fullmatch(exercise_id):
            raise BadRoster(place, "this id is not usable", "Use small letters, digits and _, a letter first")
        if not isinstance(entry, dict):
            raise BadRoster(place, f"found {entry!r}", "Write each exercise as a table such as [my_press]")
        _known(entry, _COACH_KEYS, place)
        base = dict(packaged.get(exercise_id, {}))
        if "like" in entry:
            like = _one_of(entry["like"], tuple(laid), f"{place} like")
            own_name = base.get("name", exercise_id.replace("_", " ").capitalize())
            base = {**laid[like], "name": own_name, "names": base.get("names", [])}
        if not base:
            for key in _NEEDED:
                if key not in entry:
                    cure = f"Give it a {key}, or say like = with the id of an exercise that it resembles"
                    raise BadRoster(place, f"a new exercise without {key}", cure)
        if {"direct", "assisting"} & set(entry):
            base.pop("shares", None)
        if {"direct", "assisting", "shares"} & set(entry):
            base["basis"] = "coach"
        names = [*base.get("names", []), *_texts(entry.get("names", []), f"{place} names")]
        if "name" in base and "name" in entry:
            names.append(base["name"])
        laid[exercise_id] = {"basis": "coach", **base, **{k: v for k, v in entry.items() if k != "like"}}
        laid[exercise_id]["names"] = names
    return laid


def _exercise(
    exercise_id: str,
    entry: Mapping[str, Any],
    where: str,
    muscles: tuple[str, ...],
    families: tuple[str, ...],
) -> Exercise:
    _known(entry, _KEYS, where)
    direct = [
        _one_of(m, muscles, f"{where} direct") for m in _texts(entry.get("direct", []), f"{where} direct")
    ]
    assisting = _texts(entry.get("assisting", []), f"{where} assisting")
    shares = {_one_of(m, muscles, f"{where} assisting"): ASSISTING_SHARE for m in assisting}
    shares = dict.fromkeys(direct, 1.0) | {m: s for m, s in shares.items() if m not in direct}
    given = entry.get("shares", {})
    if not isinstance(given, dict):
        raise BadRoster(f"{where} shares", f"found {given!r}", "Write { muscle = share, ... }")
    for muscle, share in given.items():
        _one_of(muscle, muscles, f"{where} shares")
        shares[muscle] = _number(share, f"{where} shares {muscle}")
    shares = {muscle: share for muscle, share in shares.items() if share > 0}
    direct = [muscle for muscle, share in shares.items() if share == 1]
    if not direct:
        raise BadRoster(
            f"{where} direct", "no muscle group has the whole share", "Name at least one in direct"
        )
    one_sided = entry.get("one_sided", False)
    if not isinstance(one_sided, bool):
        raise BadRoster(f"{where} one_sided", f"found {one_sided!r}", "Write true or false")
    return Exercise(
        id=exercise_id,
        name=_text(entry["name"], f"{where} name"),
        family=_one_of(entry["family"], families, f"{where} family"),
        equipment=_one_of(entry.get("equipment", "other"), EQUIPMENT, f"{where} equipment"),
        kind=_one_of(entry.get("kind", "compound"), KINDS, f"{where} kind"),
        one_sided=one_sided,
        bodyweight_share=_number(entry.get("bodyweight_share", 0), f"{where} bodyweight_share"),
        direct=tuple(direct),
        shares=shares,
        basis=_one_of(entry.get("basis", "derived"), BASES, f"{where} basis"),
        names=tuple(dict.fromkeys(_texts(entry.get("names", []), f"{where} names"))),
    )


def _named(
    exercises: Mapping[str, Exercise], own: Mapping[str, Mapping[str, Any]]
) -> Iterator[tuple[str, str, int]]:
    for exercise in exercises.values():
        by_coach = own.get(exercise.id, {})
        made = _MADE_WORDS.get(exercise.equipment, (exercise.equipment,))
        for name in (exercise.id, exercise.name, *exercise.names):
            told = name in by_coach.get("names", ()) or name == by_coach.get("name")
            yield name, exercise.id, COACH if told else LISTED
            for word in made:
                yield f"{word} {name}", exercise.id, MADE


def _known(table: Mapping[str, Any], keys: tuple[str, ...], where: str) -> None:
    for key in table:
        if key not in keys:
            raise BadRoster(where, f"unknown key {key!r}", _nearest(key, keys))


def _one_of(value: Any, choices: tuple[str, ...], where: str) -> str:
    if value not in choices:
        raise BadRoster(where, f"found {value!r}", _nearest(str(value), choices))
    return str(value)


def _nearest(word: str, known: tuple[str, ...]) -> str:
    best = process.extractOne(word, known, scorer=fuzz.ratio)
    if best and best[1] >= 50:
        return f"The nearest known one is {best[0]!r}"
    return f"Known ones: {', '.join(sorted(known)[:40])}"


def _text(value: Any, where: str) -> str:
    if not isinstance(value, str) or not value.strip():
        raise BadRoster(where, f"found {value!r}", "Write a text in quotes")
    return value


def _texts(value: Any, where: str) -> list[str]:
    if not isinstance(value, list):
        raise BadRoster(where, f"found {value!r}", 'Write a list of texts: ["one", "two"]')
    return [_text(item, where) for item in value]


def _number(value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value <= 1:
        raise BadRoster(where, f"found {value!r}", "Write a number from 0 to 1")
    return float(value)
