"""What was read once is given again; files with their own column names do not hear of each other's."""

from analytics.intake.cells.memory import remembered
from analytics.intake.header.heading import dictionary
from analytics.intake.header.headline import read_headings


def test_a_short_text_is_read_once_and_a_long_one_is_not_kept():
    asked = []

    @remembered
    def read(text, mark):
        asked.append((text, mark))
        return f"{text}{mark}"

    long = "x" * 1000
    for _ in range(2):
        assert read("80", ".") == "80."
        assert read("80", ",") == "80,"
        assert read(long, ".") == long + "."
        assert read(None, ".") == "None."
    assert asked.count(("80", ".")) == asked.count(("80", ",")) == 1
    assert asked.count((long, ".")) == asked.count((None, ".")) == 2


def test_column_names_are_remembered_for_one_coach_only():
    plain, own = dictionary("sets", {}), dictionary("sets", {"reps": ["Quux"]})
    for _ in range(2):
        assert read_headings(["Quux"], plain) == []
        (heading,) = read_headings(["Quux"], own)
        assert (heading.field, heading.column) == ("reps", 0)
    first, second = read_headings(["", "Weight (kg)", "Quux"], own)
    assert (first.field, first.unit, first.column) == ("load", "kg", 1)
    assert (second.field, second.column) == ("reps", 2)
