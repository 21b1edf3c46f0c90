from datetime import date

import polars as pl
import pytest

from analytics.charts import Report
from analytics.publish import sections
from analytics.publish.sections.blocks import plain
from analytics.schema import SESSION_LOAD

PARTS = ("opening", "attention", "lifts", "families", "muscles", "effort", "body", "data", "method")


def texts(shown):
    return "\n".join(str(one.bundle.get("text/markdown", "")) for one in shown)


@pytest.mark.parametrize("part", PARTS)
def test_a_part_shows_something_for_a_full_report_and_survives_an_empty_one(part, demo_report):
    show = getattr(sections, part)
    assert show(demo_report) or part == "families"
    kept = {"athlete", "names", "ledger"}
    empty = {name: frame if name in kept else frame.clear() for name, frame in demo_report.tables.items()}
    show(Report.of(empty))


def test_names_from_a_log_stay_letters():
    hostile = "# Press *[x](javascript:alert(1))* <b>"
    assert plain(hostile) == "\\# Press \\*\\[x\\]\\(javascript:alert\\(1\\)\\)\\* \\<b\\>"
    assert plain("one\n\n## two") == "one \\#\\# two"


def test_a_state_that_holds_since_the_log_began_is_told_by_its_length(demo_report):
    lifts = demo_report["lifts"]
    first = demo_report["sessions"].filter(exercise=lifts["exercise"][0])["date"].min()
    told = lifts.head(1).with_columns(state=pl.lit("progressing"), since=pl.lit(first))
    text = texts(sections.lifts(Report.of({**demo_report.tables, "lifts": told})))
    assert "weeks logged" in text
    later = told.with_columns(state=pl.lit("stalled"), since=pl.lit(date(2026, 10, 12)))
    text = texts(sections.lifts(Report.of({**demo_report.tables, "lifts": later})))
    assert "since 12 October 2026" in text


def test_rated_sessions_are_shown(demo_report):
    # Foster 2001: RPE 6 x 75 min = 450 (from memory).
    row = {"athlete": "x", "date": date(2026, 11, 20), "load": 450.0, "week_load": 1450.0}
    row |= {"monotony": 0.9552, "strain": 1385.09}
    load = pl.DataFrame([row], schema={c.name: c.dtype for c in SESSION_LOAD.columns})
    shown = sections.body(Report.of({**demo_report.tables, "session_load": load}))
    assert "450" in str(shown[-1].bundle)


def test_the_method_stands_folded_at_the_end(demo_report):
    shown = sections.method(demo_report)[0].bundle
    folded = shown["application/vnd.roster.closed+json"]
    assert folded["title"] == "How the numbers are made"
    assert "Epley 1985" in folded["text"].replace("\\", "")
    assert "80 %" in folded["text"]
