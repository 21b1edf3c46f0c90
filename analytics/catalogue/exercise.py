"""Exercise: what one lift is and which muscles it trains; the catalogue is all of them with their names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import polars as pl

from analytics.catalogue.matching import Matcher

ASSISTING_SHARE = 0.5
"""A set counts half for a muscle that assists: fractional count of Pelland et al. 2025 (Sports Med)."""

EQUIPMENT = (
    "barbell",
    "dumbbell",
    "kettlebell",
    "machine",
    "cable",
    "guided_barbell",
    "bodyweight",
    "band",
    "plate",
    "other",
)
KINDS = ("compound", "isolation")
BASES = ("checked", "derived", "coach")


@dataclass(frozen=True, kw_only=True)
class Exercise:
    """One exercise.

    `shares`: muscle group to the share of a set that counts for it, 1 for those in `direct`.
    `bodyweight_share`: share of bodyweight that is moved beside the load, 0 to 1.
    `one_sided`: usually logged for left and right apart.
    `basis` of the muscle assignment: ``checked`` against the project's working table, ``derived`` by the same
    rules from muscle actions, ``coach`` where the coach's own file says so.  None is a published
    classification.
    """

    id: str
    name: str
    family: str
    equipment: str
    kind: str
    one_sided: bool
    bodyweight_share: float
    direct: tuple[str, ...]
    shares: Mapping[str, float]
    basis: str
    names: tuple[str, ...] = ()

    @property
    def assisting(self) -> tuple[str, ...]:
        """Muscle groups that help, in order of the file."""
        return tuple(muscle for muscle in self.shares if muscle not in self.direct)


@dataclass(frozen=True, kw_only=True)
class Catalogue:
    """Exercises by id, display names of muscle groups and families, opposing groups, and girths."""

    exercises: Mapping[str, Exercise]
    muscle_names: Mapping[str, str]
    family_names: Mapping[str, str]
    opposing: tuple[tuple[str, str], ...]
    girths: Mapping[str, tuple[str, ...]]
    matcher: Matcher = field(repr=False, compare=False)

    @property
    def muscles(self) -> tuple[str, ...]:
        """Ids of the muscle groups, in the order of display."""
        return tuple(self.muscle_names)

    @property
    def families(self) -> tuple[str, ...]:
        """Ids of the movement families, in the order of display."""
        return tuple(self.family_names)

    def muscle_name(self, muscle: str) -> str:
        """Display name of a muscle group; KeyError if unknown."""
        return self.muscle_names[muscle]

    def family_name(self, family: str) -> str:
        """Display name of a movement family; KeyError if unknown."""
        return self.family_names[family]

    def shares(self) -> pl.DataFrame:
        """One row per exercise and muscle group: `exercise, muscle, share` of a set (0 to 1), `direct`."""
        rows = [
            (exercise.id, muscle, share, muscle in exercise.direct)
            for exercise in self.exercises.values()
            for muscle, share in exercise.shares.items()
        ]
        schema = {"exercise": pl.String, "muscle": pl.String, "share": pl.Float64, "direct": pl.Boolean}
        return pl.DataFrame(rows, schema=schema, orient="row").sort("exercise", "muscle")

    def match(self, names: Sequence[str]) -> pl.DataFrame:
        """One row per distinct name: `as_logged, exercise, family, how, score` (0 to 100), sorted by name.

        `how` is ``name`` (one of the exercise's names), ``spelling`` (close to one), ``place`` (see
        `covering`) or ``unknown``: then `exercise` is an id made from the name itself, with a hyphen so that
        it can be no catalogue id, and `family` is null.
        """
        rows = []
        for name in sorted(set(names)):
            found = self.matcher.match(name)
            known = self.exercises.get(found.exercise)
            how = "place" if known and found.how == "unknown" else found.how
            rows.append((name, found.exercise, known.family if known else None, how, found.score))
        schema = {
            "as_logged": pl.String,
            "exercise": pl.String,
            "family": pl.String,
            "how": pl.String,
            "score": pl.Float64,
        }
        return pl.DataFrame(rows, schema=schema, orient="row")
