"""The catalogue as a whole: size, ids, languages, groups, families and the two tables it gives."""

import pickle
import re
import tomllib
from importlib import resources

import polars as pl

from analytics.catalogue import load_catalogue
from analytics.catalogue.exercise import BASES, EQUIPMENT, KINDS

CATALOGUE = load_catalogue()
LANGUAGES = ("de", "es", "fr", "it", "pt", "nl")


def test_at_least_150_exercises_with_usable_ids() -> None:
    assert len(CATALOGUE.exercises) >= 150
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", key) for key in CATALOGUE.exercises)
    assert all(key == exercise.id for key, exercise in CATALOGUE.exercises.items())


def test_display_names_are_distinct() -> None:
    names = [exercise.name.casefold() for exercise in CATALOGUE.exercises.values()]
    assert len(names) == len(set(names))


def test_at_least_60_exercises_have_names_in_all_six_other_languages() -> None:
    text = resources.files("analytics.catalogue").joinpath("languages.toml").read_text("utf-8")
    full = [key for key, names in tomllib.loads(text).items() if all(names.get(code) for code in LANGUAGES)]
    assert len(full) >= 60
    assert set(full) <= set(CATALOGUE.exercises)


def test_values_are_from_the_known_lists() -> None:
    for exercise in CATALOGUE.exercises.values():
        assert exercise.family in CATALOGUE.families
        assert exercise.equipment in EQUIPMENT
        assert exercise.kind in KINDS
        assert exercise.basis in BASES
        assert 0 <= exercise.bodyweight_share <= 1


def test_every_family_has_members_and_a_name() -> None:
    used = {exercise.family for exercise in CATALOGUE.exercises.values()}
    assert used == set(CATALOGUE.families)
    assert all(CATALOGUE.family_name(family) for family in used)


def test_pairs_and_girths_speak_of_known_groups() -> None:
    groups = set(CATALOGUE.muscles)
    assert len(groups) == 17
    # Printed as agonist and antagonist: OpenStax Anatomy & Physiology, module m46487, first table.
    assert {("biceps", "triceps"), ("quads", "hamstrings")} <= set(CATALOGUE.opposing)
    assert {muscle for pair in CATALOGUE.opposing for muscle in pair} <= groups
    assert {muscle for followed in CATALOGUE.girths.values() for muscle in followed} <= groups
    assert CATALOGUE.girths["upper_arm"] == ("biceps", "triceps")
    assert all(CATALOGUE.muscle_name(muscle) for muscle in groups)


def test_shares_have_one_sorted_row_per_exercise_and_muscle() -> None:
    shares = CATALOGUE.shares()
    assert shares.columns == ["exercise", "muscle", "share", "direct"]
    assert shares.equals(shares.sort("exercise", "muscle"))
    assert shares.height == shares.select("exercise", "muscle").unique().height
    assert set(shares["exercise"]) == set(CATALOGUE.exercises)
    assert shares.filter("direct")["share"].eq(1.0).all()


def test_every_own_name_means_its_exercise() -> None:
    for exercise in CATALOGUE.exercises.values():
        names = [exercise.id, exercise.name, *exercise.names]
        found = CATALOGUE.match(names)
        wrong = found.filter((pl.col("exercise") != exercise.id) | (pl.col("how") != "name"))
        assert wrong.is_empty(), wrong


def test_two_loads_are_equal() -> None:
    other = load_catalogue()
    assert other == CATALOGUE
    assert list(other.exercises) == sorted(CATALOGUE.exercises)
    assert other.shares().equals(CATALOGUE.shares())


def test_a_catalogue_travels_to_another_process_whole() -> None:
    other = pickle.loads(pickle.dumps(CATALOGUE))
    assert other == CATALOGUE
    assert other.match(["sqaut", "no such lift"]).equals(CATALOGUE.match(["sqaut", "no such lift"]))
