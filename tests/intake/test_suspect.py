"""Sets that cannot be what they say: kept, marked, and only by what stood before them."""

import pytest

DAYS = [f"2026-03-{day:02d}" for day in range(2, 30, 3)]


def marked(read, rows, **defaults):
    """What was written in the rows that are marked."""
    text = "\n".join(["Date,Exercise,Weight (kg),Reps,Notes", *rows])
    sets = read({"exports/tern/a.csv": text}, **defaults).sets
    assert sets.height == len(rows)
    return sets.filter("suspect")["note"].to_list()


@pytest.mark.parametrize(
    ("lift", "load", "expected"),
    [
        ("Pull-up", "80", ["last"]),  # the athlete's weight typed in, and so counted twice
        ("Pull-up", "80.5", ["last"]),
        ("Pull-up", "BW+80", []),  # says what it means
        ("Pull-up", "60", []),
        ("Pull-up", "0", []),
        ("Assisted pull-up", "80", []),
        ("Bench press", "80", []),
    ],
)
def test_the_athletes_own_weight_as_added_load(read, lift, load, expected):
    rows = [f"{day},{lift},{load if day == DAYS[-1] else ''},5,{'last' * (day == DAYS[-1])}" for day in DAYS]
    if lift != "Pull-up":
        rows = [row.replace(",,5", ",80,5") for row in rows]
    assert marked(read, rows, bodyweight_kg=80.0) == expected


@pytest.mark.parametrize(
    ("last", "expected"),
    [
        ("122.5,55", ["last"]),  # a finger twice on one key
        ("122.5,25", []),
        ("60,55", []),  # as light as that it can be done
        ("122.5,5", []),
    ],
)
def test_many_times_the_usual_repetitions(read, last, expected):
    rows = [f"{day},Squat,120,{4 + day.endswith('5')}," for day in DAYS[:-1]] + [
        f"{DAYS[-1]},Squat,{last},last"
    ]
    assert marked(read, rows) == expected


def test_lifts_of_many_repetitions_are_as_they_are(read):
    assert marked(read, [f"{day},Standing calf raise,60,{25 + n}," for n, day in enumerate(DAYS)]) == []
    assert marked(read, [f"{day},Squat,120,55," for day in DAYS[:3]]) == []


def test_what_comes_later_marks_nothing(read):
    rows = [f"{day},Squat,120,{55 if day < DAYS[4] else 5},{day}" for day in DAYS]
    assert marked(read, rows) == []


@pytest.mark.parametrize(("last", "expected"), [("7.5", []), ("38.6", ["last"]), ("7.94", ["last"])])
def test_a_light_day_is_no_mixed_up_unit(read, last, expected):
    """17.5 kg is 38.6 lb; 17.5 lb is 7.94 kg (NIST SP 811)."""
    rows = [f"{day},Lateral raise,17.5,10," for day in DAYS[:-1]] + [
        f"{DAYS[-1]},Lateral raise,{last},10,last"
    ]
    assert marked(read, rows) == expected
