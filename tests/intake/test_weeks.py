"""Weeks told by a line, against the calendar of Python's standard library (ISO 8601)."""

from datetime import date, timedelta

import pytest

from analytics.intake.columns.weeks import week_begin

MONDAYS = [date(2024, 12, 30) + timedelta(weeks=n) for n in range(0, 110, 3)]
SPANS = (
    "KW {0.week} ({1:%d.%m.%Y} - {2:%d.%m.%Y})",
    "Week {1:%Y-%m-%d} to {2:%Y-%m-%d}",
    "{1:%d/%m/%y} - {2:%d/%m/%y}",
    "Block 2, {1:%m/%d/%Y} – {2:%m/%d/%Y}",
    "Week ending {2:%d %B %Y}",
    "Week of {1:%B %d, %Y}",
    "KW {0.week}/{0.year}",
    "{0.year}-W{0.week:02d}",
)


@pytest.mark.parametrize("title", SPANS)
def test_a_week_begins_with_its_monday(title):
    for monday in MONDAYS:
        sunday = monday + timedelta(6)
        assert week_begin(title.format(monday.isocalendar(), monday, sunday)) == monday


@pytest.mark.parametrize(
    "title",
    [
        "Week 10 2026",  # perhaps the tenth week of training
        "Deload",
        "4 March 2026",  # a Wednesday
        "05/04/2026",  # a Monday, or a Sunday
        "02.03.2026 - 30.03.2026",
        "2 March 2026, 9 March 2026, 16 March 2026",
        "KW 60/2026",
    ],
)
def test_a_line_that_may_mean_something_else_is_no_week(title):
    assert week_begin(title) is None


def test_a_week_may_begin_on_the_sunday_before():
    assert week_begin("Week of March 1, 2026") == date(2026, 3, 1)


@pytest.mark.parametrize(
    "title",
    [
        "Semana del 2 al 8 de marzo de 2026",
        "Semaine du 2 au 8 mars 2026",
        "Settimana 2/3 - 8/3/2026",
        "Semana de 2 de março de 2026",
        "Woche 2.3.-8.3.26",
        "Week van 2 maart 2026",
    ],
)
def test_a_week_in_other_languages(title):
    assert week_begin(title) == date(2026, 3, 2)
