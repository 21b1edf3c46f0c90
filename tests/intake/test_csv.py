"""RFC 4180 (October 2005), section 2, rule by rule, and true line numbers."""

import pytest

HEAD = "Date,Exercise,Weight (kg),Reps,Notes"


def notes(read, body, head=HEAD, end="\r\n"):
    sets = read({"exports/tern/a.csv": head + end + body}).sets
    return list(zip(sets["source_row"], sets["note"], strict=True))


def test_rule_1_lines_end_in_crlf(read):
    body = "2026-03-02,Deadlift,100,5,a\r\n2026-03-02,Deadlift,100,5,b\r\n"
    assert notes(read, body) == [(2, "a"), (3, "b")]


def test_rule_2_last_line_may_lack_its_end(read):
    body = "2026-03-02,Deadlift,100,5,a\r\n2026-03-02,Deadlift,100,5,b"
    assert notes(read, body) == [(2, "a"), (3, "b")]


def test_rule_5_cells_may_be_quoted(read):
    assert notes(read, '"2026-03-02","Deadlift","100","5","a"\r\n') == [(2, "a")]


def test_rule_6_quoted_cells_hold_delimiters_and_line_breaks(read):
    row = "2026-03-02,Deadlift,100,5,"
    body = f'{row}"a, b"\r\n{row}"c\r\nd"\r\n{row}e\r\n'
    assert notes(read, body) == [(2, "a, b"), (3, "c\nd"), (5, "e")]


def test_rule_7_quotes_in_a_cell_are_doubled(read):
    # The RFC's own example: "aaa","b""bb","ccc" holds b"bb.
    assert notes(read, '2026-03-02,Deadlift,100,5,"b""bb"\r\n') == [(2, 'b"bb')]
    assert notes(read, '2026-03-02,Deadlift,100,5,""""\r\n') == [(2, '"')]
    assert notes(read, '2026-03-02,Deadlift,100,5,"a "",b"\r\n') == [(2, 'a ",b')]


@pytest.mark.parametrize("end", ["\n", "\r", "\r\n"])
def test_any_line_end_and_blank_lines_keep_line_numbers(read, end):
    body = end.join(["2026-03-02,Deadlift,100,5,a", "", "2026-03-02,Deadlift,100,5,b", ""])
    assert notes(read, body, end=end) == [(2, "a"), (4, "b")]


def test_a_lone_quote_does_not_swallow_the_rest(read):
    body = '2026-03-02,Deadlift,100,5,12" box\r\n' + "2026-03-02,Deadlift,100,5,b\r\n" * 60
    assert len(notes(read, body)) == 61
    body = '2026-03-02,Deadlift,100,5,"open\r\n' + "2026-03-02,Deadlift,100,5,b\r\n" * 60
    assert len(notes(read, body)) == 61


def test_short_rows_leave_cells_empty(read):
    assert notes(read, "2026-03-02,Deadlift,100,5\r\n") == [(2, None)]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_each_delimiter_both_ways_of_reading_agree(read, delimiter):
    lines = [
        HEAD.replace(",", delimiter),
        *(delimiter.join(["2026-03-02", "Deadlift", "100.5", str(i), "x"]) for i in range(1, 40)),
    ]
    plain = read({"exports/tern/a.csv": "\n".join(lines)}).sets
    careful = read({"exports/tern/a.csv": "\n".join([*lines[:-1], lines[-1][:-1] + '"y\nz"'])}).sets
    assert plain.drop("note").equals(careful.drop("note"))
