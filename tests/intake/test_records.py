"""Records and their texts beside plain lists, which say the same cell by cell."""

import polars as pl
from hypothesis import given
from hypothesis import strategies as st

from analytics.intake import lookup
from analytics.intake.lookup import Texts, among
from analytics.intake.source.records import Records

CELL = st.sampled_from(["", "a", " a", "a ", "b", " ", "kg", "ä"])
ROWS = st.lists(st.lists(CELL, max_size=4), min_size=1, max_size=30)


def told(cells):
    return [cell or None for cell in cells]


def records_of(rows):
    return Records.listed(range(1, len(rows) + 1), rows)


def expected(rows):
    width = max([1, *map(len, rows)])
    return [tuple(told(row + [""] * (width - len(row)))) for row in rows]


@given(ROWS)
def test_what_is_listed_is_written(rows):
    assert records_of(rows).written() == expected(rows)


@given(ROWS, st.data())
def test_a_stretch_holds_its_own_texts_alone(rows, data):
    start = data.draw(st.integers(0, len(rows)))
    end = data.draw(st.integers(start, len(rows)))
    for few in (0, 10_000):  # the way of long columns and that of short ones
        with_few = lookup._FEW
        lookup._FEW = few
        try:
            part = records_of(rows).between(start, end)
        finally:
            lookup._FEW = with_few
        assert part.written() == expected(rows)[start:end]
        assert part.lines.to_list() == list(range(start + 1, end + 1))
        for i, column in enumerate(part.columns):
            assert set(column.written) == {row[i] for row in part.written()} - {None}


@given(ROWS, ROWS)
def test_tables_below_one_another(above, below):
    joined = Records.joined([records_of(above), records_of(below)])
    assert joined.written() == expected(above + below)


@given(ROWS)
def test_fields_are_read_without_the_space_around_them(rows):
    records = records_of(rows)
    for i in range(len(records.columns)):
        stripped = records.texts(i)
        assert stripped.cells().to_list() == told(str(row[i] or "").strip() for row in records.written())
        assert stripped.written == sorted(set(stripped.written))


@given(ROWS, st.sets(st.integers(1, 30)))
def test_records_elsewhere(rows, lines):
    there = pl.Series(sorted(line for line in lines if line <= len(rows)), dtype=pl.Int32)
    rest = records_of(rows).elsewhere(there)
    assert rest.written() == [row for i, row in enumerate(expected(rows), 1) if i not in lines]


@given(st.lists(st.integers(0, 50)), st.lists(st.integers(0, 50)))
def test_lines_among_others(lines, some):
    found = among(pl.Series(lines, dtype=pl.Int32), pl.Series(some, dtype=pl.Int32))
    assert found.to_list() == [line in some for line in lines]


@given(st.lists(st.one_of(st.none(), CELL), min_size=1), st.booleans())
def test_one_value_for_all_texts(cells, empty):
    read = Texts.listed(cells).spread(lambda text: True, pl.Boolean(), empty)
    assert read.to_list() == [True if cell else empty for cell in cells]
