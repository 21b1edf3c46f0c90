import pytest

from analytics.catalogue import covering, load_catalogue

PLAIN = load_catalogue()


@pytest.mark.parametrize(
    ("name", "base"),
    [
        ("Leg press (gym B)", "leg_press"),
        ("leg press [hotel]", "leg_press"),
        ("Lat pulldown @ Harbour Street", "lat_pulldown"),
        ("Bench press (home gym)", "bench_press"),
        ("Kreuzheben (Studio Nord)", "deadlift"),
    ],
)
def test_a_lift_in_another_place_is_a_lift_of_its_own_in_the_same_family(name, base):
    there = covering(PLAIN, [name, "Back squat"])
    row = there.match([name]).row(0, named=True)
    known = PLAIN.exercises[base]
    assert row["how"] == "place"
    assert row["exercise"] != base
    assert row["family"] == known.family
    assert there.exercises[row["exercise"]].shares == known.shares
    assert there.exercises[row["exercise"]].name == name
    assert PLAIN.match([name])["how"][0] == "unknown"


@pytest.mark.parametrize(
    "name",
    [
        "Bench press (paused)",
        "Squat (tempo)",
        "Leg press (single)",
        "Moon lift (gym B)",
        "Leg press ()",
        "(gym B)",
        "@",
    ],
)
def test_a_word_of_the_trade_in_brackets_is_no_place(name):
    assert covering(PLAIN, [name]).exercises.keys() == PLAIN.exercises.keys()


def test_brackets_that_name_a_known_lift_are_that_lift():
    there = covering(PLAIN, ["Bench press (incline)"])
    assert there.match(["Bench press (incline)"])["exercise"][0] == "incline_bench_press"


def test_the_order_of_names_does_not_matter():
    names = ["Leg press (gym B)", "Leg press (gym C)", "Leg press"]
    first, second = covering(PLAIN, names), covering(PLAIN, names[::-1])
    assert first == second
    assert len(first.exercises) == len(PLAIN.exercises) + 2
