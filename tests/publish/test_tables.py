"""Tables on disk: what a spreadsheet would run is disarmed, and a share holds one athlete only."""

from __future__ import annotations

import csv
import io

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.publish.plan import frames_hash
from analytics.publish.tables import arrow_bytes, guarded, shares, write_tables


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_text_that_starts_like_a_formula_is_disarmed(start):
    # OWASP, "CSV Injection": cells that begin with these characters are prepended with a single quote.
    frame = pl.DataFrame({"note": [f"{start}1+cmd|' /C calc'!A0", f"a{start}b", None]})
    assert guarded(frame)["note"].to_list() == [f"'{start}1+cmd|' /C calc'!A0", f"a{start}b", None]


def test_numbers_stay_numbers(tmp_path):
    frame = pl.DataFrame({"added_kg": [-20.0, 2.5, None], "reps": [-1, 8, 0]})
    write_tables({"lifts": frame}, tmp_path)
    assert (tmp_path / "lifts.csv").read_text() == "added_kg,reps\n-20.0,-1\n2.5,8\n,0\n"


@given(
    st.lists(st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\x00")), max_size=20)
)
def test_every_text_comes_back_from_csv_and_none_can_run(texts):
    # RFC 4180, sections 2.5 to 2.7, as the standard library's reader understands it.
    frame = pl.DataFrame({"n": range(len(texts)), "note": texts}, schema={"n": pl.Int64, "note": pl.String})
    written = guarded(frame).write_csv()
    rows = list(csv.reader(io.StringIO(written, newline="")))[1:]
    assert [
        row[1].removeprefix("'") if row[1][1:] == text else row[1]
        for row, text in zip(rows, texts, strict=True)
    ] == texts
    assert not any(row[1].startswith(("=", "+", "-", "@", "\t", "\r")) for row in rows)


def test_names_and_formats_are_those_of_the_design(tmp_path):
    names = ("sets", "sessions", "lift_history", "trend_lines", "lifts", "set_aside", "ledger")
    frame = pl.DataFrame({"athlete": ["heron"], "value": [1.5]})
    written = [path.name for path in write_tables(dict.fromkeys(names, frame), tmp_path / "new")]
    parquet = {"sets.parquet", "sessions.parquet", "lift_history.parquet", "trend_lines.parquet"}
    assert set(written) == parquet | {"lifts.csv", "set_aside.csv", "ledger.csv"}
    assert written == sorted(written)
    assert pl.read_parquet(tmp_path / "new" / "sets.parquet").equals(frame)


def test_a_share_holds_one_athlete_and_nothing_about_the_whole_roster():
    attention = pl.DataFrame(
        {
            "rank": [1, 2, 3],
            "athlete": ["otter", "heron", "otter"],
            "evidence": ["a", "b", "c"],
            "expected_false_share": [0.1, 0.2, 0.3],
        },
        schema_overrides={"rank": pl.Int32},
    )
    nobody = pl.DataFrame({"athlete": [None, "heron"], "file": ["x.csv", "y.csv"]})
    split = shares({"attention": attention, "ledger": nobody, "method": pl.DataFrame({"k": [1]})})
    assert set(split) == {"attention", "ledger"}
    otter = split["attention"].of("otter")
    assert otter.schema == attention.schema
    assert otter["rank"].to_list() == [1, 2]
    assert otter["evidence"].to_list() == ["a", "c"]
    assert otter["expected_false_share"].to_list() == [None, None]
    assert split["ledger"].of("heron")["file"].to_list() == ["y.csv"]
    assert split["ledger"].of("gull").is_empty()
    assert split["ledger"].of("gull").schema == nobody.schema


@given(st.lists(st.tuples(st.sampled_from(["heron", "otter", "gull"]), st.integers(-99, 99)), max_size=30))
def test_shares_are_what_a_filter_gives(rows):
    frame = pl.DataFrame(rows, schema={"athlete": pl.String, "n": pl.Int64}, orient="row")
    split = shares({"t": frame})["t"]
    for athlete in ("heron", "otter", "gull"):
        assert split.of(athlete).equals(frame.filter(pl.col("athlete") == athlete))


def test_the_hash_tells_frames_apart_and_nothing_else():
    frame = pl.DataFrame({"athlete": ["a", "b"], "v": [1.0, None]})
    same = pl.concat([frame[:1], frame[1:]])
    zero, named = frame.with_columns(v=pl.lit(0.0)), frame.rename({"v": "w"})
    others = [frame[::-1], zero, named, frame.cast({"v": pl.Float32})]
    assert frames_hash({"t": frame}) == frames_hash({"t": same})
    assert len({frames_hash({"t": one}) for one in [frame, *others]} | {frames_hash({"s": frame})}) == 6


def test_arrow_bytes_read_back():
    frame = pl.DataFrame({"a": ["x", None], "b": [1.0, float("nan")]})
    again = pl.concat([frame[:1], frame[1:]])
    for one in (frame, again, frame.clear()):
        assert pl.read_ipc_stream(io.BytesIO(arrow_bytes(one))).equals(one)
