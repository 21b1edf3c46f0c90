from datetime import date

import pytest

from analytics.errors import BadRoster
from analytics.roster import parse_roster

MUSCLES = ("quads", "calves", "chest")
FIELDS = ("date", "load", "reps")
GOOD = """
[roster]
title = "Lakeside group"
[defaults]
unit = "kg"
date_order = "dmy"
bodyweight_kg = 80
[defaults.weekly_sets]
quads = [10, 20]
[columns]
load = ["Gewicht am Turm"]
[[athlete]]
id = "heron"
name = "Heron"
stage_date = 2027-04-10
priority = ["calves"]
unit = "lb"
[athlete.weekly_sets]
calves = [8, 16]
[[athlete.phase]]
name = "cut"
from = 2026-11-01
[[athlete.phase]]
name = "build"
from = 2026-06-01
[[athlete]]
id = "teal"
"""


def read(text):
    return parse_roster(text, "roster.toml", muscles=MUSCLES, fields=FIELDS)


def test_defaults_reach_every_athlete_and_own_values_win():
    roster = read(GOOD)
    heron, teal = roster.athletes
    assert (heron.unit, teal.unit) == ("lb", "kg")
    assert heron.weekly_sets == {"quads": (10, 20), "calves": (8, 16)}
    assert teal.weekly_sets == {"quads": (10, 20)}
    assert teal.name == "teal"
    assert roster.columns == {"load": ("Gewicht am Turm",)}
    assert roster.false_share == 0.33


def test_phases_are_ordered_by_their_start():
    heron = read(GOOD).athlete("heron")
    assert heron.phase_on(date(2026, 5, 31)) is None
    assert heron.phase_on(date(2026, 6, 1)) == "build"
    assert heron.phase_on(date(2026, 11, 1)) == "cut"
    assert heron.weeks_to_stage(date(2027, 4, 3)) == 1


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("date_order", "date_ordr", "'date_order'"),
        ("quads", "quad", "'quads'"),
        ('["calves"]', '["calf"]', "'calves'"),
        ("[10, 20]", "[20, 10]", "above high"),
        ('id = "teal"', 'id = "teal"\nname = "heron"', "no other one has"),
        ("[10, 20]", "[10]", "[low, high]"),
        ('unit = "kg"', 'unit = "kilo"', "kg"),
        ('"heron"', '"../heron"', "folder name"),
        ('"teal"', '"HERON"', "also names"),
        ("2027-04-10", '"2027-04-10"', "without quotes"),
        ('name = "cut"', 'name = "cutting"', "'cut'"),
        ("bodyweight_kg = 80", "bodyweight_kg = true", "20 to 400"),
        ("[columns]\nload", "[columns]\nlod", "'load'"),
        ("[roster]", "[rooster]", "'roster'"),
        ("[roster]", "[roster", "Mend the TOML"),
        ("2026-11-01", "2026-11-01T10:00:00", "without quotes"),
    ],
)
def test_a_mistake_is_named_with_its_cure(old, new, words):
    assert old in GOOD
    with pytest.raises(BadRoster, match=r"^roster\.toml") as caught:
        read(GOOD.replace(old, new, 1))
    assert words in str(caught.value)


def test_a_roster_without_athletes_is_refused():
    with pytest.raises(BadRoster, match="no \\[\\[athlete\\]\\]"):
        read("[roster]\ntitle = 'x'\n")
