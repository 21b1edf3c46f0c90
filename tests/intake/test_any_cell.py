"""Whatever stands in a cell: a value within its limits or a reason, never an exception."""

from hypothesis import example, given, settings
from hypothesis import strategies as st

from analytics.intake.cells.dates import read_minutes, read_moment
from analytics.intake.cells.effort import parse_rir, parse_rpe, parse_seconds
from analytics.intake.cells.loadlist import parse_load_list
from analytics.intake.cells.loads import parse_load
from analytics.intake.cells.naming import split_name
from analytics.intake.cells.numbers import decimal_mark, parse_number, tidy
from analytics.intake.cells.reps import parse_reps
from analytics.intake.cells.shorthand import decimal_tokens, parse_work, reading_of
from analytics.intake.cells.words import parse_failure, parse_role, parse_side
from analytics.intake.header.heading import dictionary
from analytics.intake.header.headline import read_headings

PARTS = st.sampled_from(
    [
        *(
            "1",
            "3",
            "8",
            "12",
            "80",
            "201",
            "9999",
            "1.2.3",
            "1,2,3",
            "82.5",
            "82,5",
            "1.020",
            ".5",
            "0",
            "3x8",
            "60x12",
        ),
        *(
            "BW",
            "BW+10",
            "bodyweight",
            "80kg",
            "lb",
            "#",
            "30s",
            "0:45",
            "10/8",
            "15,13,12",
            "8-10",
            "8+2",
            "8F",
            "each",
        ),
        *(
            "x",
            "@",
            " @ ",
            "rpe",
            " rir ",
            " ",
            ":",
            "/",
            ", ",
            ",",
            ";",
            " > ",
            "->",
            " drop ",
            "(",
            ")",
            " sets of ",
        ),
        *(
            " reps at ",
            "*",
            "w ",
            "warm-up",
            "2026-03-02",
            "March",
            "de",
            "13",
            "/03/",
            ".",
            "am",
            "T",
            "Z",
            "+01:00",
        ),
        *(
            "e400",
            "nan",
            "inf",
            "=",
            '"',
            "'",
            "\x00",
            "\u2028",
            "½",
            "٣",
            "３",
            "㎏",
            "①",
            "İ",
            "ß",
            "💪",
            "−",
            "%",
        ),
    ]
)
CELLS = st.lists(PARTS, max_size=7).map("".join) | st.text(max_size=60)
KNOWN = dictionary("sets", {})


@settings(max_examples=400, deadline=None)
@given(
    text=CELLS,
    decimal=st.sampled_from(["point", "comma", "mixed"]),
    reading=st.sampled_from(["load", "sets"]),
)
@example(text="3x8@1.2.3", decimal="point", reading="sets")
@example(text="1.2.3x8x3", decimal="comma", reading="load")
def test_any_cell(text, decimal, reading):
    load = parse_load(text, decimal)
    assert load.problem or load.value is None or abs(load.value) < float("inf")
    piece, problem = parse_reps(text)
    assert problem or piece.reps is None or 0 <= piece.reps <= 200
    pieces, problem = parse_work(text, decimal, reading)
    assert not (problem and pieces)
    for piece in pieces:
        assert piece.reps is None or 0 <= piece.reps <= 200
        assert piece.rir is None or 0 <= piece.rir <= 10
        assert piece.load is None or piece.load.problem is None
    for rir, _ in (parse_rir(text, decimal), parse_rpe(text, decimal)):
        assert rir is None or 0 <= rir <= 10
    seconds, _ = parse_seconds(text, "min")
    assert seconds is None or 0 <= seconds <= 86_400
    moment = read_moment(text)
    assert bool(moment.problem) != bool(moment.fixed or moment.by_order)
    minutes = read_minutes(text)
    assert minutes is None or 0 <= minutes < 1440
    parse_load_list(text, decimal)
    parse_number(tidy(text), decimal)
    decimal_mark([text, *decimal_tokens([text])], "point")
    reading_of([text], load_elsewhere=False)
    for read in (parse_role, parse_side, parse_failure, split_name):
        read(text)
    read_headings([text, text], KNOWN)
