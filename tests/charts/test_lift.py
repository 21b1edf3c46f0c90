import json
from datetime import date, timedelta

import polars as pl
import pytest

from analytics import schema
from analytics.charts import Report, lift_figure
from analytics.charts.pounds import load_labels, load_words
from analytics.charts.standing import standing
from analytics.charts.stretches import Answer, answer_rows, answer_words, answers, present

SUNDAY = date(2026, 9, 6)


def table(contract, *rows):
    blank = dict.fromkeys(contract.names)
    return pl.DataFrame([blank | row for row in rows], schema={c.name: c.dtype for c in contract.columns})


def with_history(*chances):
    rows = [
        {
            "exercise": "a",
            "week_end": SUNDAY + timedelta(weeks=week),
            "p_progressing": up,
            "p_stalled": level,
            "p_regressing": 1 - up - level,
        }
        for week, (up, level) in chances
    ]
    names = pl.DataFrame({"id": ["a"], "name": ["A"]})
    return Report.of({"lift_history": table(schema.LIFT_HISTORY, *rows), "names": names})


UP, LEVEL, NOBODY_KNOWS = (0.7, 0.2), (0.1, 0.65), (0.5, 0.3)


def test_equal_answers_of_weeks_are_one_stretch_and_a_gap_parts_them():
    report = with_history((0, UP), (1, UP), (2, NOBODY_KNOWS), (3, LEVEL), (4, LEVEL), (9, LEVEL))
    week = timedelta(weeks=1)
    assert answers(report, "a") == [
        Answer(state="progressing", first=SUNDAY, last=SUNDAY + week),
        Answer(state="unsure", first=SUNDAY + 2 * week, last=SUNDAY + 2 * week),
        Answer(state="stalled", first=SUNDAY + 3 * week, last=SUNDAY + 4 * week),
        Answer(state="stalled", first=SUNDAY + 9 * week, last=SUNDAY + 9 * week),
    ]


def test_an_answer_is_told_with_its_day_and_only_where_there_is_room():
    told = answers(with_history(*((week, UP) for week in range(8)), (8, LEVEL)), "a")
    seen = (SUNDAY - timedelta(days=20), SUNDAY + timedelta(weeks=8))
    rows = answer_rows(told, seen)
    assert [row["label"] for row in rows] == ["progressing, 06 Sep", ""], "the present one has its own label"
    assert rows[0]["from"] == SUNDAY - timedelta(days=7), "the week that ends on the first Sunday"
    assert rows[0]["to"] == rows[1]["from"]
    now = present(told, seen)
    assert (now.words, now.at, now.side) == ("stalled, 01 Nov", SUNDAY + timedelta(weeks=8), "right")
    assert answer_words(told).endswith("progressing from 06 Sep 2026, then stalled from 01 Nov 2026.")
    assert answer_words(told[:1]) == ""


def test_an_old_present_answer_is_labelled_from_its_first_day():
    told = answers(with_history((0, UP), *((week, LEVEL) for week in range(1, 9))), "a")
    now = present(told, (SUNDAY, SUNDAY + timedelta(weeks=12)))
    assert (now.words, now.at, now.side) == ("stalled, 13 Sep", SUNDAY, "left")
    assert present(told, (SUNDAY + timedelta(weeks=9), SUNDAY + timedelta(weeks=12))) is None


def test_answers_before_the_first_day_seen_are_not_drawn():
    told = answers(with_history((0, UP), (1, LEVEL), (2, LEVEL)), "a")
    rows = answer_rows(told, (SUNDAY + timedelta(days=3), SUNDAY + timedelta(weeks=6)))
    assert [(row["word"], row["from"]) for row in rows] == [("stalled", SUNDAY + timedelta(days=3))]


def test_the_last_answer_is_the_state_of_the_table(demo_tables):
    for athlete in demo_tables["lifts"]["athlete"].unique():
        own = {n: t.filter(athlete=athlete) for n, t in demo_tables.items() if "athlete" in t.columns}
        report = Report.of(own)
        for exercise, state in report["lifts"].select("exercise", "state").rows():
            assert answers(report, exercise)[-1].state == state


def in_a_cut(report, limit):
    cut = {"athlete": "x", "phase": "cut", "since": SUNDAY, "weeks": 4, "lifts": 1, "held": 1, "lost": 0}
    cuts = table(schema.CUTS, cut | {"weakest": "a", "limit_pct_per_week": limit})
    return Report.of({**report.tables, "cuts": cuts})


@pytest.mark.parametrize("state", schema.LIFT_STATES)
def test_a_lift_that_holds_in_a_cut_is_called_held_whatever_its_state(demo_report, state):
    lift = demo_report["lifts"].row(0, named=True) | {"state": state}
    lift |= {"slope_pct_per_week": -0.3, "slope_low": -0.4, "slope_high": -0.2}
    assert standing(in_a_cut(demo_report, -0.6), lift).word == "held in the cut"
    lost = standing(in_a_cut(demo_report, -0.1), lift)
    assert (lost.word, lost.held) == (state, False)
    build = Report.of({**demo_report.tables, "cuts": demo_report["cuts"].clear()})
    assert standing(build, lift).word == state


def test_a_held_lift_has_no_onset_on_its_chart(demo_report):
    first = (
        demo_report["lifts"].head(1).with_columns(state=pl.lit("stalled"), since=pl.lit(date(2026, 10, 5)))
    )
    report = in_a_cut(Report.of({**demo_report.tables, "lifts": first}), -9.0)
    figure = lift_figure(report, first["exercise"][0])
    assert "onset" not in figure.spec["datasets"]
    assert "held in the cut" in figure.description


def test_the_table_of_a_lift_tells_the_estimates_that_are_drawn(demo_report):
    for exercise in demo_report["lifts"]["exercise"]:
        figure = lift_figure(demo_report, exercise)
        drawn = [point["kg"] for point in json.loads(figure.spec["datasets"]["points"])]
        assert figure.table["estimated 1RM, kg"].to_list() == drawn[: -len(figure.table) - 1 : -1]


def logged_in(report, unit):
    files = report["ledger"].with_columns(unit=pl.lit(unit))
    return Report.of({**report.tables, "ledger": files})


def test_loads_are_told_in_pounds_too_where_the_athlete_logs_in_pounds(demo_report):
    # 100 lb is 45.359237 kg exactly (NIST SP 811, appendix B).
    pounds = logged_in(demo_report, "lb (roster default)")
    assert load_words(pounds, 45.359237) == "45 kg (100 lb)"
    assert load_words(logged_in(demo_report, "kg"), 45.359237) == "45 kg"
    assert load_labels(logged_in(demo_report, "kg")) == "datum.label"
    exercise = pounds["lifts"]["exercise"][0]
    figure = lift_figure(pounds, exercise)
    assert " lb)" in figure.description
    top = json.loads(figure.spec["datasets"]["points"])[0]["set"]
    kg, lb = float(top.split(" kg")[0]), float(top.split("(")[1].split(" lb")[0])
    assert lb == pytest.approx(kg / 0.45359237, abs=0.6)
    kilograms = lift_figure(logged_in(demo_report, "kg"), exercise)
    assert " lb" not in json.dumps(kilograms.spec) + str(kilograms.table.to_dicts())
