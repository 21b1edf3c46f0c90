"""Reader: the packaged catalogue, and the coach's own exercises laid over it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib import resources
from typing import Any

from analytics import declared
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
    own = {} if coach_toml is None else declared.parsed(coach_toml, where)
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


@lru_cache(maxsize=8)
def catalogue_of(own: str | None) -> Catalogue:
    """`load_catalogue` of the text of an exercises.toml, or of none, made once."""
    return load_catalogue(own)


def _packaged(file: str) -> str:
    return resources.files("analytics.catalogue").joinpath(file).read_text(encoding="utf-8")


def _flat(by_language: Mapping[str, list[str]]) -> Iterator[str]:
    for names in by_language.values():
        yield from names


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
        declared.known(entry, _COACH_KEYS, place)
        base = dict(packaged.get(exercise_id, {}))
        if "like" in entry:
            like = declared.one_of(entry["like"], tuple(laid), f"{place} like")
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
        names = [*base.get("names", []), *declared.texts(entry.get("names", []), f"{place} names")]
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
    declared.known(entry, _KEYS, where)
    direct = [
        declared.one_of(m, muscles, f"{where} direct")
        for m in declared.texts(entry.get("direct", []), f"{where} direct")
    ]
    assisting = declared.texts(entry.get("assisting", []), f"{where} assisting")
    shares = {declared.one_of(m, muscles, f"{where} assisting"): ASSISTING_SHARE for m in assisting}
    shares = dict.fromkeys(direct, 1.0) | {m: s for m, s in shares.items() if m not in direct}
    given = entry.get("shares", {})
    if not isinstance(given, dict):
        raise BadRoster(f"{where} shares", f"found {given!r}", "Write { muscle = share, ... }")
    for muscle, share in given.items():
        declared.one_of(muscle, muscles, f"{where} shares")
        shares[muscle] = declared.number(share, f"{where} shares {muscle}", 0, 1)
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
        name=declared.text(entry["name"], f"{where} name"),
        family=declared.one_of(entry["family"], families, f"{where} family"),
        equipment=declared.one_of(entry.get("equipment", "other"), EQUIPMENT, f"{where} equipment"),
        kind=declared.one_of(entry.get("kind", "compound"), KINDS, f"{where} kind"),
        one_sided=one_sided,
        bodyweight_share=declared.number(entry.get("bodyweight_share", 0), f"{where} bodyweight_share", 0, 1),
        direct=tuple(direct),
        shares=shares,
        basis=declared.one_of(entry.get("basis", "derived"), BASES, f"{where} basis"),
        names=tuple(dict.fromkeys(declared.texts(entry.get("names", []), f"{where} names"))),
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
