"""Cells: loads, reps, shorthand, effort, dates and times, one text at a time."""

from datetime import date
from decimal import Decimal

import pytest

from analytics.intake.cells.dates import read_minutes, read_moment
from analytics.intake.cells.dayorder import decide_order
from analytics.intake.cells.effort import parse_rir, parse_rpe, parse_seconds, rir_of_rpe
from analytics.intake.cells.loadlist import parse_load_list
from analytics.intake.cells.loads import parse_load
from analytics.intake.cells.naming import split_name
from analytics.intake.cells.numbers import decimal_mark, parse_number, tidy
from analytics.intake.cells.reps import parse_reps
from analytics.intake.cells.shorthand import parse_work, reading_of
from analytics.intake.cells.words import parse_role, parse_side
from analytics.schema import KG_PER_LB


def test_pound_is_the_international_one():
    # NIST SP 811, appendix B: 1 lb = 0.45359237 kg exactly (agreement of 1959); 225 lb = 102.05828325 kg.
    assert Decimal("225") * Decimal("0.45359237") == Decimal("102.05828325")
    assert abs(225 * KG_PER_LB - 102.05828325) < 1e-12
    assert abs(100 / KG_PER_LB - 220.462262184878) < 1e-9


@pytest.mark.parametrize(
    ("rpe", "rir"), [(10, 0), (9.5, 0.5), (9, 1), (8.5, 1.5), (8, 2), (7.5, 2.5), (7, 3)]
)
def test_rpe_from_seven_up_is_ten_less_rir(rpe, rir):
    # Zourdos et al. 2016, JSCR 30(1):267-275 (scale from memory): 10 = 0 left, 9 = 1, 8 = 2, 7 = 3.  The half
    # steps are the midpoints of the scale's "1 to 2" and "2 to 3"; 9.5 is "no more reps, a little more load".
    assert rir_of_rpe(rpe) == rir
    assert parse_rpe(str(rpe), "point") == (rir, None)


@pytest.mark.parametrize("rpe", [1, 3, 5, 5.5, 6, 6.5])
def test_rpe_below_seven_is_a_range_and_stays_empty(rpe):
    # Zourdos et al. 2016 (from memory): 5 to 6 stands for 4 to 6 repetitions left.
    assert rir_of_rpe(rpe) is None
    value, problem = parse_rpe(str(rpe), "point")
    assert value is None
    assert "range" in problem


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("80", "point", 80),
        ("82.5", "point", 82.5),
        ("82,5", "comma", 82.5),
        ("82.5", "comma", 82.5),
        ("1,020", "point", 1020),
        ("1,020", "comma", 1.02),
        ("1.020", "comma", 1020),
        ("1.020", "mixed", None),
        ("1,020.5", "comma", 1020.5),
        ("1.020,5", "point", 1020.5),
        ("1'020.5", "point", 1020.5),
        ("1 020,5", "comma", 1020.5),
        ("12 5", "point", None),
        ("1,02,0", "point", None),
        ("1.2.3", "point", None),
        ("0,125", "comma", 0.125),
        ("0.125", "comma", 0.125),
        (".5", "point", 0.5),
        ("-5", "point", -5),
        ("+5", "point", 5),
        ("1e3", "point", 1000),
        ("1e999", "point", None),
        ("nan", "point", None),
        ("inf", "point", None),
        ("", "point", None),
        ("--5", "point", None),
        ("5-", "point", None),
        ("0x10", "point", None),
        ("1_000", "point", None),
    ],
)
def test_numbers(text, decimal, value):
    assert parse_number(text, decimal) == value


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["80", "82.5"], "point"),
        (["80", "82,5"], "comma"),
        (["82.5", "82,5"], "mixed"),
        (["1,020.5"], "point"),
        (["1.020,5"], "comma"),
        (["1,020", "900"], "fallback"),
        (["80 kg", "82,5 kg"], "comma"),
        (["0,125"], "comma"),
    ],
)
def test_decimal_mark_is_decided_by_all_cells(cells, mark):
    assert decimal_mark(cells, "fallback") == mark


def test_tidy_makes_every_digit_and_space_plain():
    assert tidy(" ８２．５\u00a0KG ") == "82.5 kg"
    assert tidy("٨٠") == "80"
    assert tidy('="80"') == "80"
    assert tidy("2 × 22½") == "2 x 22.5"
    assert tidy("−20") == "-20"
    assert tidy(None) == ""


@pytest.mark.parametrize(
    ("text", "value", "unit", "bodyweight", "implements"),
    [
        ("80", 80, None, False, None),
        ("120lb", 120, "lb", False, None),
        ("55 kg", 55, "kg", False, None),
        ("kg 55", 55, "kg", False, None),
        ("BW", 0, None, True, None),
        ("BW+10", 10, None, True, None),
        ("BW - 20 lb", -20, "lb", True, None),
        ("10 kg + BW", 10, "kg", True, None),
        ("poids du corps", 0, None, True, None),
        ("2x22.5", 22.5, None, False, 2),
        ("22,5 je", 22.5, None, False, 2),
        ("100 kg (220 lb)", 100, "kg", False, None),
        ("", None, None, False, None),
        ("n/a", None, None, False, None),
        ("-", None, None, False, None),
    ],
)
def test_loads(text, value, unit, bodyweight, implements):
    load = parse_load(text, "comma" if "," in text else "point")
    assert (load.value, load.unit, load.bodyweight, load.implements) == (value, unit, bodyweight, implements)
    assert load.problem is None


@pytest.mark.parametrize(
    "text",
    [
        "heavy",
        "80 stone",
        "80 Pfund",
        "80-90",
        "80 kg 5",
        "=C2+40",
        "100 kg (300 lb)",
        "5x22.5",
        "BW+BW",
        "k",
    ],
)
def test_loads_that_are_none(text):
    assert parse_load(text, "point").problem


def shown(text, decimal="point", reading="load"):
    pieces, problem = parse_work(text, decimal, reading)
    if problem:
        return problem
    return [(piece.load.value if piece.load else None, piece.reps, piece.rir, piece.role) for piece in pieces]


@pytest.mark.parametrize(
    ("text", "sets"),
    [
        ("3x8@80kg", [(80, 8, None, None)] * 3),
        ("3 × 8 @ 80", [(80, 8, None, None)] * 3),
        ("60x12, 65x10", [(60, 12, None, None), (65, 10, None, None)]),
        ("60x12,65x10", [(60, 12, None, None), (65, 10, None, None)]),
        ("100x5 @8", [(100, 5, 2, None)]),
        ("100 kg x 5 @ 9,5", [(100, 5, 0.5, None)]),
        ("80x8 > 60x8 > 40x8", [(80, 8, None, "working"), (60, 8, None, "drop"), (40, 8, None, "drop")]),
        ("80kg x 15,13,12", [(80, 15, None, None), (80, 13, None, None), (80, 12, None, None)]),
        ("80: 15/13/12", [(80, 15, None, None), (80, 13, None, None), (80, 12, None, None)]),
        ("20x10/8", [(20, 10, None, None), (20, 8, None, None)]),
        ("100kg 5x5", [(100, 5, None, None)] * 5),
        ("5x5 100kg RIR 2", [(100, 5, 2, None)] * 5),
        ("w 20x10; 60x5", [(20, 10, None, "warm_up"), (60, 5, None, None)]),
        ("50kg x 8+2", [(50, 8, None, "working"), (50, 2, None, "rest_pause")]),
        ("80x8F", [(80, 8, 0, None)]),
        ("3x12x50kg", [(50, 12, None, None)] * 3),
        ("BW+10x8, 6", [(10, 8, None, None), (10, 6, None, None)]),
        ("225lb x 5 -> 185lb x 6", [(225, 5, None, "working"), (185, 6, None, "drop")]),
    ],
)
def test_shorthand(text, sets):
    assert shown(text) == sets


@pytest.mark.parametrize(
    "text", ["did some", "3x8-10@80kg", "3x8@8", "99x5@100kg", "80x8 > ???", "80x201", "x", "@8"]
)
def test_shorthand_is_read_whole_or_not_at_all(text):
    assert isinstance(shown(text), str)


def test_decimal_comma_is_no_list():
    assert shown("82,5x8, 85x6", "comma") == [(82.5, 8, None, None), (85, 6, None, None)]
    assert shown("16,25kgx14 RIR 2 > 11,25kgx11", "comma") == [
        (16.25, 14, 2, "working"),
        (11.25, 11, None, "drop"),
    ]
    assert shown("60x12,65x10", "comma") == [(60, 12, None, None), (65, 10, None, None)]


def test_bare_pairs_are_decided_by_the_whole_column():
    assert reading_of(["3x8", "5x5"], load_elsewhere=False) == "open"
    assert reading_of(["3x8@8", "5x5@40"], load_elsewhere=False) == "loads"
    assert reading_of(["3x8", "60x12"], load_elsewhere=False) == "load"
    assert reading_of(["3x8", "60x12"], load_elsewhere=True) == "sets"


def test_load_lists():
    assert [load.value for load in parse_load_list("60/65/70 kg", "point")] == [60, 65, 70]
    assert {load.unit for load in parse_load_list("60/65/70 kg", "point")} == {"kg"}
    assert [load.value for load in parse_load_list("60,5; 65", "comma")] == [60.5, 65]
    assert parse_load_list("60/x/70", "point") is None


@pytest.mark.parametrize(
    ("text", "reps", "seconds", "rir"),
    [
        ("8", 8, None, None),
        ("8 reps", 8, None, None),
        ("8.0", 8, None, None),
        ("8F", 8, None, 0),
        ("0", 0, None, None),
        ("45s", None, 45, None),
        ("1:30", None, 90, None),
        ("", None, None, None),
        ("12 Wdh.", 12, None, None),
    ],
)
def test_reps(text, reps, seconds, rir):
    piece, problem = parse_reps(text)
    assert (piece.reps, piece.seconds, piece.rir, problem) == (reps, seconds, rir, None)


@pytest.mark.parametrize("text", ["-8", "201", "8.5", "8-10", "AMRAP", "1e9", "eight"])
def test_reps_that_are_none(text):
    assert parse_reps(text)[1]


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("90", 90),
        ("1:30", 90),
        ("00:01:30", 90),
        ("1 min 30", 90),
        ("1m30s", 90),
        ("2'30\"", 150),
        ("2 min", 120),
        ("1.5 min", 90),
        ("2 Minuten", 120),
        ("45 seg", 45),
        ("1h", 3600),
    ],
)
def test_seconds(text, seconds):
    assert parse_seconds(text, "s")[0] == seconds


def test_plain_time_takes_the_unit_of_its_header():
    assert parse_seconds("2", "min") == (120, None)


@pytest.mark.parametrize(
    ("text", "role", "failed"),
    [
        ("W", "warm_up", False),
        ("Aufwärmsatz", "warm_up", False),
        ("calentamiento", "warm_up", False),
        ("échauffement", "warm_up", False),
        ("riscaldamento", "warm_up", False),
        ("aquecimento", "warm_up", False),
        ("opwarmset", "warm_up", False),
        ("Drop set", "drop", False),
        ("D", "drop", False),
        ("back-off", "back_off", False),
        ("RP", "rest_pause", False),
        ("Failure", None, True),
        ("W1", "warm_up", False),
        ("working, failure", "working", True),
        ("", None, False),
    ],
)
def test_roles(text, role, failed):
    assert parse_role(text) == (role, failed, None)


def test_sides():
    assert parse_side("links") == ("left", None)
    assert parse_side("Derecha") == ("right", None)
    assert parse_side("both") == (None, None)
    assert parse_side("up")[1]


def test_effort_cells():
    assert parse_rir("1-2", "point") == (1.5, None)
    assert parse_rir("RPE 8", "point") == (2.0, None)
    assert parse_rir("1,5", "comma") == (1.5, None)
    assert parse_rir("11", "point")[1]
    assert parse_rpe("11", "point")[1]


def test_marks_in_names():
    marks = split_name("A1. Split squat (left)")
    assert (marks.name, marks.side, marks.superset) == ("Split squat", "left", "A")
    assert split_name("Bench press - warm-up").role == "warm_up"
    assert split_name("Push-up").name == "Push-up"
    assert split_name("Leg press (45)").name == "Leg press (45)"
    assert split_name("(left)").name == "(left)"


@pytest.mark.parametrize(
    ("text", "day"),
    [
        # ISO 8601: calendar date extended and basic, date with time and zone, week date.
        ("2026-03-02", date(2026, 3, 2)),
        ("20260302", date(2026, 3, 2)),
        ("2026-03-02T06:30:00+01:00", date(2026, 3, 2)),
        ("2026-03-02T06:30Z", date(2026, 3, 2)),
        ("2026-W10-1", date(2026, 3, 2)),
        # ISO 8601 week dates, worked examples of the standard's first week rule: 2004-W53-6, 2009-W53-7.
        ("2004-W53-6", date(2005, 1, 1)),
        ("2009-W53-7", date(2010, 1, 3)),
        ("2026/3/2", date(2026, 3, 2)),
        ("2 Mar 2026", date(2026, 3, 2)),
        ("Mon, 2 Mar 2026", date(2026, 3, 2)),
        ("lunes, 2 de marzo de 2026", date(2026, 3, 2)),
        ("2. März 2026", date(2026, 3, 2)),
        ("1er mars 2026", date(2026, 3, 1)),
        ("March 2nd, 2026", date(2026, 3, 2)),
        ("2-mrt-26", date(2026, 3, 2)),
        ("segunda-feira, 2 de março de 2026", date(2026, 3, 2)),
        # Serial numbers of the 1900 system: 1 is 1900-01-01, 60 the day that never was, 61 is 1900-03-01, so
        # 43831 is 2020-01-01 (from memory).
        ("43831", date(2020, 1, 1)),
    ],
)
def test_dates_that_need_no_order(text, day):
    assert read_moment(text).fixed == day


@pytest.mark.parametrize(
    "text",
    ["31/02/2026", "0001-01-01", "2026-13-01", "9999-01-01", "29/02/2026", "", "soon", "2026", "12", "3.5"],
)
def test_dates_that_are_none(text):
    moment = read_moment(text)
    assert moment.problem
    assert moment.day("dmy") is None


def test_order_is_decided_by_all_texts():
    def order(*texts, default=None):
        return decide_order(texts, {text: read_moment(text) for text in texts}, default)

    assert order("01/02/2026", "13/02/2026").order == "dmy"
    assert order("01/02/2026", "02/13/2026").order == "mdy"
    assert order("01/02/2026").needed
    assert order("01/02/2026", default="mdy").order == "mdy"
    assert order("13/02/2026", default="mdy").order == "dmy"
    assert order("05/05/2026").order == "dmy"
    assert order("13/02/2026", "02/13/2026").clash == ("13/02/2026", "02/13/2026")
    assert order("31/02/2026", "01/13/2026").order == "mdy"
    assert order("26-03-02", "26-03-31").order == "ymd"
    assert order("2026-03-02").order is None


def test_two_digit_years_follow_posix():
    # POSIX strptime %y: 69 to 99 are the twentieth century, 00 to 68 the twenty-first.
    assert read_moment("31.12.69").by_order["dmy"] == date(1969, 12, 31)
    assert read_moment("31.12.68").by_order["dmy"] == date(2068, 12, 31)


def test_times_of_day():
    assert read_moment("2 Mar 2026 6:30 PM").minutes == 18 * 60 + 30
    assert read_moment("2026-03-02 06:30").minutes == 6 * 60 + 30
    assert read_moment("46083.75").minutes == 18 * 60
    assert read_minutes("18:05") == 18 * 60 + 5
    assert read_minutes("12:05 am") == 5
    assert read_minutes("18h05") == 18 * 60 + 5
    assert read_minutes("noon") is None
