"""The coach's own exercises.toml over the catalogue."""

import pytest

from analytics.catalogue import load_catalogue
from analytics.errors import BadRoster

NEW = """
[lever_row]
name = "Lever row"
family = "horizontal_pull"
equipment = "machine"
direct = ["upper_back", "lats"]
assisting = ["biceps"]
names = ["Lever row, old gym"]
"""


def test_a_new_exercise() -> None:
    catalogue = load_catalogue(NEW)
    exercise = catalogue.exercises["lever_row"]
    assert exercise.shares == {"upper_back": 1.0, "lats": 1.0, "biceps": 0.5}
    assert (exercise.basis, exercise.one_sided, exercise.bodyweight_share) == ("coach", False, 0.0)
    found = catalogue.match(["lever rows", "Lever row (old gym)", "machine lever row"])
    assert found["exercise"].unique().to_list() == ["lever_row"]
    assert len(catalogue.exercises) == len(load_catalogue().exercises) + 1


def test_the_same_lift_on_another_machine() -> None:
    text = '[leg_press_b]\nlike = "leg_press"\nnames = ["Leg press (gym B)"]'
    catalogue = load_catalogue(text)
    here, there = catalogue.exercises["leg_press"], catalogue.exercises["leg_press_b"]
    assert (here.family, here.shares, here.kind) == (there.family, there.shares, there.kind)
    assert catalogue.match(["leg press - Gym B"])["exercise"][0] == "leg_press_b"
    assert catalogue.match(["leg press"])["exercise"][0] == "leg_press"


def test_single_shares_are_changed_and_taken_out() -> None:
    exercise = load_catalogue("[bench_press]\nshares = { triceps = 0.7, front_delts = 0 }").exercises[
        "bench_press"
    ]
    assert exercise.shares == {"chest": 1.0, "triceps": 0.7}
    assert exercise.basis == "coach"
    assert "bench" in exercise.names


def test_a_whole_share_makes_a_prime_mover_and_less_an_assisting_muscle() -> None:
    exercise = load_catalogue("[dip]\nshares = { front_delts = 1, chest = 0.6 }").exercises["dip"]
    assert {"triceps", "front_delts"} == set(exercise.direct)
    assert exercise.assisting == ("chest",)


def test_a_known_lift_may_be_said_to_be_another_and_keeps_its_names() -> None:
    catalogue = load_catalogue(
        '[shrug]\nlike = "trap_bar_shrug"\n[leg_press]\nname = "Sled"\nfamily = "squat"'
    )
    assert "trap_bar_shrug" not in catalogue.match(["shrugs"])["exercise"]
    assert catalogue.exercises["shrug"].equipment == "barbell"
    assert catalogue.match(["Leg press", "sled", "Beinpresse"])["family"].to_list() == ["squat"] * 3


def test_new_muscles_replace_the_old_ones() -> None:
    exercise = load_catalogue('[dip]\ndirect = ["triceps"]\nassisting = ["chest"]').exercises["dip"]
    assert exercise.shares == {"triceps": 1.0, "chest": 0.5}
    assert exercise.bodyweight_share == 1.0


def test_a_name_of_the_coach_wins_over_the_catalogue() -> None:
    catalogue = load_catalogue('[front_squat]\nnames = ["squat"]\n[barbell_row]\nnames = ["row"]')
    found = dict(
        catalogue.match(["Squats", "back squat", "rows"]).select("as_logged", "exercise").iter_rows()
    )
    assert found == {"Squats": "front_squat", "back squat": "back_squat", "rows": "barbell_row"}


def test_the_packaged_catalogue_is_left_as_it_was() -> None:
    before = load_catalogue()
    load_catalogue('[dip]\nnames = ["my dip thing"]\ndirect = ["triceps"]')
    assert before == load_catalogue()
    assert load_catalogue().match(["my dip thing"])["how"][0] == "unknown"


def test_an_empty_file_changes_nothing() -> None:
    assert load_catalogue("# nothing yet\n") == load_catalogue()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[dip", "Mend the TOML"),
        ("[dip]\ndirekt = ['chest']", "'direct'"),
        ("[dip]\ndirect = ['tricep']", "'triceps'"),
        ("[dip]\nassisting = ['quad']", "'quads'"),
        ("[dip]\nfamily = 'horizontal_pres'", "'horizontal_press'"),
        ("[dip]\nequipment = 'dumbell'", "'dumbbell'"),
        ("[dip]\nkind = 'compund'", "'compound'"),
        ("[dip]\nshares = { chst = 0.5 }", "'chest'"),
        ("[dip]\nshares = { chest = 1.5 }", "0 to 1"),
        ("[dip]\nshares = 0.5", "muscle = share"),
        ("[dip]\nshares = { chest = 0, triceps = 0 }", "at least one"),
        ("[dip]\ndirect = []", "at least one"),
        ("[dip]\ndirect = 'chest'", "list"),
        ("[dip]\nnames = [7]", "text"),
        ("[dip]\nname = ''", "text"),
        ("[dip]\none_sided = 'no'", "true or false"),
        ("[dip]\nbodyweight_share = true", "0 to 1"),
        ("[dip]\nbodyweight_share = -1", "0 to 1"),
        ("[dip]\nbodyweight_share = nan", "0 to 1"),
        ("[my_lift]\nname = 'My lift'", "family"),
        ("[my_lift]\nlike = 'legpress'", "'leg_press'"),
        ("[My-Lift]\nlike = 'dip'", "small letters"),
        ("dip = 3", "table"),
        ("[dip]\nnames = ['my row']\n[barbell_row]\nnames = ['my row']", "one exercise only"),
        ("[dip]\nbasis = 'checked'", "unknown key 'basis'"),
    ],
)
def test_mistakes_are_named_with_their_place_and_cure(text: str, said: str) -> None:
    with pytest.raises(BadRoster) as caught:
        load_catalogue(text, "my/exercises.toml")
    assert caught.value.where.startswith("my/exercises.toml")
    assert said in str(caught.value)
