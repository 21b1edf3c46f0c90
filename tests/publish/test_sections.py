from datetime import date, timedelta

import polars as pl
import pytest

from analytics.charts import Report, period_slope
from analytics.publish import sections
from analytics.publish.sections.blocks import plain
from analytics.publish.show import FOLD_MIME, TABLE_MIME, rows_of
from analytics.schema import ATTENTION, DECISIONS, SESSION_LOAD

PARTS = (
    "opening",
    "attention",
    "outcomes",
    "lifts",
    "families",
    "muscles",
    "effort",
    "body",
    "data",
    "method",
)


def texts(shown):
    return "\n".join(str(one.bundle.get("text/markdown", "")) for one in shown)


@pytest.mark.parametrize("part", PARTS)
def test_a_part_shows_something_for_a_full_report_and_survives_an_empty_one(part, demo_report):
    show = getattr(sections, part)
    assert show(demo_report) or part in ("families", "outcomes")
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
    build = {**demo_report.tables, "cuts": demo_report["cuts"].clear()}
    text = texts(sections.lifts(Report.of({**build, "lifts": told})))
    assert "weeks logged" in text
    later = told.with_columns(state=pl.lit("stalled"), since=pl.lit(date(2026, 10, 12)))
    text = texts(sections.lifts(Report.of({**build, "lifts": later})))
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


def folds(shown):
    return [one.bundle[FOLD_MIME]["title"] for one in shown if FOLD_MIME in one.bundle]


def with_states(report, *states):
    lifts = report["lifts"].head(len(states)).with_columns(state=pl.Series(states))
    return Report.of({**report.tables, "lifts": lifts, "cuts": report["cuts"].clear()})


def test_what_needs_a_decision_stands_open_and_progress_is_folded_after_it(demo_report):
    report = with_states(demo_report, "progressing", "stalled", "progressing")
    good = [report.word(one) for one in report["lifts"]["exercise"].gather([0, 2])]
    shown = sections.lifts(report)
    begin, end = folds(shown)
    assert begin.startswith("Progressing: ")
    assert sorted(begin.removeprefix("Progressing: ").split(", ")) == sorted(good)
    assert end == ""
    opened = [one.bundle.get(FOLD_MIME, {}).get("title") for one in shown].index(begin)
    assert "stalled" in texts(shown[:opened])
    assert "progressing" not in texts(shown[:opened]).partition("###")[2].partition("\n")[0]
    assert texts(shown[opened:]).count("###") == 2


def test_an_unsure_lift_stands_open_only_while_it_is_on_the_list(demo_report):
    report = with_states(demo_report, "stalled", "unsure")
    lift, family = report["lifts"].select("exercise", "family").row(1)
    none = Report.of({**report.tables, "attention": report["attention"].clear()})
    name = report.word(lift)
    assert folds(sections.lifts(none)) == [f"Unsure, nothing to decide yet: {name}", ""]
    for subject in (lift, family):
        row = dict.fromkeys(ATTENTION.names) | {"subject": subject, "listed": True}
        listed = pl.DataFrame([row], schema={c.name: c.dtype for c in ATTENTION.columns})
        assert folds(sections.lifts(Report.of({**report.tables, "attention": listed}))) == []


def test_lifts_that_hold_in_a_cut_are_folded_as_held(demo_report):
    cuts = demo_report["cuts"]
    assert cuts.height == 1, "the first athlete of the demo is in a cut"
    never_lost = cuts.with_columns(limit_pct_per_week=-50.0)
    shown = sections.lifts(Report.of({**demo_report.tables, "cuts": never_lost}))
    assert folds(shown)[0].startswith("Held in the cut: ")
    told = texts(shown).replace("\\", "")
    assert "no faster than bodyweight explains, -50.00 % a week at most" in told
    assert "stalled," not in texts(shown)


def test_a_deadlift_and_many_repetitions_come_with_their_notes(demo_report):
    tables, first = demo_report.tables, demo_report["lifts"]["exercise"][0]

    def told(exercise, reps):
        lifts = tables["lifts"].head(1).with_columns(exercise=pl.lit(exercise))
        own = {
            name: tables[name].filter(exercise=first).with_columns(exercise=pl.lit(exercise))
            for name in ("sessions", "trend_lines", "lift_history")
        }
        own["sessions"] = own["sessions"].with_columns(top_reps=pl.lit(reps, pl.Int32), top_rir=0.0)
        return texts(sections.lifts(Report.of({**tables, "lifts": lifts, **own})))

    assert "likely low" in told("deadlift", 5)
    assert "loose" not in told("deadlift", 5)
    assert "loose" in told("leg_press", 14)
    assert "likely low" not in told("romanian_deadlift", 5)


def decided(report, subject, day):
    row = {"date": day, "athlete": "x", "subject": subject, "what": "<b>one</b> set less", "why": None}
    decisions = pl.DataFrame([row], schema={c.name: c.dtype for c in DECISIONS.columns})
    return Report.of({**report.tables, "decisions": decisions})


def cells(shown):
    content = next(one.bundle[TABLE_MIME] for one in shown if TABLE_MIME in one.bundle)
    return [[cell[0] for cell in row] for row in rows_of(content)]


def test_a_decision_is_followed_by_what_the_lift_did_before_and_since(demo_report):
    lift = demo_report["lifts"]["exercise"][0]
    day = date(2026, 10, 12)
    ((told, subject, what, because, before, since),) = cells(
        sections.outcomes(decided(demo_report, lift, day))
    )
    assert (told, subject, what, because) == ("2026-10-12", demo_report.word(lift), "<b>one</b> set less", "")
    slope = period_slope(demo_report, lift, day, demo_report.as_of)
    interval = f"({slope.low:+.2f} to {slope.high:+.2f}), {slope.sessions} sessions"
    assert since == f"{slope.pct_per_week:+.2f} % a week {interval}"
    assert before.endswith("sessions")
    assert before != since
    late = cells(sections.outcomes(decided(demo_report, lift, demo_report.as_of)))
    assert late[0][-1] == "too few sessions"


def test_a_decision_about_a_muscle_group_is_followed_by_its_sets(demo_report):
    muscle = demo_report["muscle_weeks"]["muscle"][0]
    day = demo_report.as_of - timedelta(weeks=2)
    since = demo_report["muscle_weeks"].filter(muscle=muscle).sort("week_end").tail(2)["fractional_sets"]
    row = cells(sections.outcomes(decided(demo_report, muscle, day)))[0]
    assert row[-1] == f"{since.mean():.1f} sets a week, 2 weeks"


def test_without_decisions_there_is_no_such_part(demo_report):
    none = Report.of({**demo_report.tables, "decisions": demo_report["decisions"].clear()})
    assert sections.outcomes(none) == []


def test_the_roster_page_says_how_many_lifts_hold_in_a_cut(demo_tables):
    shown = sections.roster.standing(demo_tables)
    content = next(one.bundle[TABLE_MIME] for one in shown if TABLE_MIME in one.bundle)
    place = [column["label"] for column in content["columns"]].index("held in a cut")
    told = {row[0]: row[place] for row in cells(shown)}
    cuts = demo_tables["cuts"]
    expected = {row["athlete"]: f"{row['held']} of {row['lifts']}" for row in cuts.to_dicts()}
    assert expected
    assert {athlete: words for athlete, words in told.items() if words != "–"} == expected


def test_a_file_is_told_without_its_folder_beside_its_athlete(demo_tables):
    row = {"rank": 1, "athlete": "heron", "subject": "row 7 of exports/heron/log.csv", "subject_kind": "data"}
    row |= {"kind": "unlikely_rows", "probability": 1.0, "evidence": "e", "try_next": "t", "listed": True}
    entry = pl.DataFrame(
        [dict.fromkeys(ATTENTION.names) | row], schema={c.name: c.dtype for c in ATTENTION.columns}
    )
    shown = sections.roster.attention({**demo_tables, "attention": entry})
    assert "row 7 of log.csv" in cells(shown)[0]


def test_advice_stands_under_its_caution(demo_report, demo_tables):
    row = dict.fromkeys(ATTENTION.names) | {"subject": "squat", "kind": "stalled", "listed": True}
    listed = pl.DataFrame([row], schema={c.name: c.dtype for c in ATTENTION.columns})
    own = sections.attention(Report.of({**demo_report.tables, "attention": listed}))
    assert "cautions at the end of this page" in texts(own)
    assert "cautions at the end of this page" in texts(sections.roster.attention(demo_tables))
