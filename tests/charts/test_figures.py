import json
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from statsmodels.regression.linear_model import WLS

from analytics import charts
from analytics.charts import Report, period_slope
from analytics.charts.effort import chains
from analytics.charts.period import marked_figure
from analytics.strength.curve import log_ratio

HOSTILE = "</script><img src=x onerror=alert(1)>"


def exercise(report):
    return report["lifts"]["exercise"][0]


def roster_rows(report):
    lifts = report["lifts"]
    return lifts.with_columns(lift_name=report.named("exercise"), athlete_name=pl.lit(report.who["name"]))


FIGURES = {
    "lift": lambda r: charts.lift_figure(r, exercise(r)),
    "aims": charts.aims_figure,
    "weeks": charts.weeks_figure,
    "muscle": lambda r: charts.muscle_figure(r, r["muscles"]["muscle"][0]),
    "bodyweight": charts.bodyweight_figure,
    "girths": charts.girths_figure,
    "curve": lambda r: charts.curve_figure(r, exercise(r)),
    "slopes": lambda r: charts.slopes_figure(roster_rows(r)),
    "spread": lambda r: charts.spread_figure(roster_rows(r)),
    "marked": lambda r: charts.marked_figure(r, exercise(r)),
    "compared": lambda r: charts.compared_figure(r, (exercise(r), r["lifts"]["exercise"][1])),
}


def rows_of(figure, name):
    return json.loads(figure.spec["datasets"][name])


def marks(spec):
    """Every mark definition of a chart, at any depth."""
    if isinstance(spec, dict):
        if "mark" in spec and isinstance(spec["mark"], dict):
            yield spec["mark"]
        for part in spec.values():
            yield from marks(part)
    elif isinstance(spec, list):
        for part in spec:
            yield from marks(part)


@pytest.mark.parametrize("name", FIGURES)
def test_a_figure_says_what_it_shows_and_has_its_table(name, demo_report):
    figure = FIGURES[name](demo_report)
    spec = figure.chart.to_dict()
    assert spec["description"] == figure.description
    assert figure.description.endswith(".")
    spoken = [mark for mark in marks(spec) if mark.get("aria") is not False]
    assert len(spoken) == 1, "one mark is read out, the others are silent"
    assert spoken[0]["description"] == figure.description
    assert figure.table.height > 0
    assert "http" not in json.dumps({k: v for k, v in spec.items() if k not in ("$schema", "usermeta")})


@pytest.mark.parametrize("name", FIGURES)
def test_the_same_tables_give_the_same_chart(name, demo_report):
    first, second = (FIGURES[name](demo_report).chart.to_json() for _ in range(2))
    assert first == second


def test_the_lift_chart_names_the_row_behind_every_point(demo_report):
    lift = exercise(demo_report)
    points = rows_of(charts.lift_figure(demo_report, lift), "points")
    sessions = demo_report["sessions"].filter(exercise=lift).select("source_file", "source_row")
    assert [(point["file"], point["row"]) for point in points] == sessions.rows()


def test_the_stall_date_is_drawn_only_when_there_is_one(demo_report):
    lift = exercise(demo_report)
    for state, since, drawn in (("stalled", date(2026, 10, 5), True), ("unsure", None, False)):
        changed = demo_report["lifts"].with_columns(
            state=pl.when(pl.col("exercise") == lift).then(pl.lit(state)).otherwise("state"),
            since=pl.when(pl.col("exercise") == lift).then(pl.lit(since, pl.Date)).otherwise("since"),
        )
        report = Report.of({**out_of_a_cut(demo_report), "lifts": changed})
        text = json.dumps(charts.lift_figure(report, lift).chart.to_dict())
        assert ("since 05 Oct" in text) is drawn


def out_of_a_cut(report):
    return {**report.tables, "cuts": report["cuts"].clear()}


def test_the_aim_is_one_band_behind_the_weeks_of_each_group_that_has_one(demo_report):
    rows = [row for row in rows_of(charts.weeks_figure(demo_report), "weeks") if row["aim_low"] is not None]
    aims = demo_report["muscles"].drop_nulls("aim_low").with_columns(name=demo_report.named("muscle"))
    assert aims.height > 3
    told = sorted((row["name"], row["aim_low"], row["aim_high"]) for row in rows)
    assert told == sorted(aims.select("name", "aim_low", "aim_high").rows())


def test_hostile_names_stay_text(demo_report):
    lift = exercise(demo_report)
    hostile = demo_report["names"].with_columns(
        name=pl.when(pl.col("id") == lift).then(pl.lit(HOSTILE)).otherwise("name")
    )
    figure = charts.lift_figure(Report.of({**demo_report.tables, "names": hostile}), lift)
    assert figure.description.startswith(HOSTILE), "kept letter by letter; the page escapes it"


def test_a_curve_passes_through_the_maximum_at_one_repetition(demo_report):
    lift = exercise(demo_report)
    strength = demo_report["lifts"]["strength_kg"][0]
    figure = charts.curve_figure(demo_report, lift)
    curve = rows_of(figure, "curve")
    assert curve[0]["kg"] == pytest.approx(strength, abs=0.01)
    assert curve[9]["kg"] == pytest.approx(strength / np.exp(log_ratio(10)), abs=0.01)


def line_report(log_kg, log_se=0.02):
    days = [date(2026, 1, 5) + timedelta(days=7 * i) for i in range(len(log_kg))]
    frame = pl.DataFrame({"exercise": "a", "date": days, "session_kg": np.exp(log_kg), "log_se": log_se})
    names = pl.DataFrame({"id": ["a"], "name": ["A"]})
    return Report.of({"trend_lines": frame.drop("log_se"), "sessions": frame, "names": names})


def test_the_slope_of_a_period_is_exact_on_a_straight_line():
    report = line_report(4.6 + 0.003 * np.arange(12) + 1e-9 * np.cos(np.arange(12)))
    slope = period_slope(report, "a", date(2026, 1, 5), date(2026, 3, 23))
    assert slope.sessions == 12
    assert slope.pct_per_week == pytest.approx(0.3, abs=1e-6)
    assert slope.high - slope.low < 1e-5


def test_the_slope_of_a_period_is_that_of_weighted_least_squares():
    # Reference: statsmodels WLS with its own 80 % interval.
    rng = np.random.default_rng(3)
    log_kg, log_se = 4.6 + rng.normal(0, 0.03, 9), rng.uniform(0.01, 0.05, 9)
    slope = period_slope(line_report(log_kg, log_se), "a", date(2026, 1, 5), date(2026, 12, 31))
    fit = WLS(log_kg, np.column_stack([np.ones(9), np.arange(9)]), weights=1 / log_se**2).fit()
    assert slope.pct_per_week == pytest.approx(100 * fit.params[1])
    assert (slope.low, slope.high) == pytest.approx(tuple(100 * fit.conf_int(0.2)[1]))


def test_the_interval_of_a_period_holds_the_truth_four_times_in_five():
    rng, hits = np.random.default_rng(11), 0
    for _ in range(400):
        report = line_report(4.6 + 0.002 * np.arange(10) + rng.normal(0, 0.03, 10))
        slope = period_slope(report, "a", date(2026, 1, 5), date(2026, 3, 9))
        hits += slope.low <= 0.2 <= slope.high
    assert hits / 400 == pytest.approx(0.8, abs=0.06)


def test_a_period_with_too_few_sessions_has_no_slope():
    assert period_slope(line_report(np.zeros(3)), "a", date(2026, 1, 1), date(2026, 12, 31)) is None


def test_a_marked_chart_has_two_stretches(demo_report):
    spec = marked_figure(demo_report, exercise(demo_report)).chart.to_dict()
    assert {param["name"] for param in spec["params"]} == {"one", "two"}


def test_drop_chains_are_averaged_from_their_head():
    rows = [
        ("leg_extension", date(2026, 1, day), 1, 1, number, load, reps)
        for day in (5, 8)
        for number, load, reps in ((4, 100.0, 10), (5, 75.0, 8), (6, 50.0, 9))
    ]
    names = ["exercise", "date", "position", "chain", "set_number", "load_kg", "reps"]
    sets = pl.DataFrame(rows, schema=names, orient="row").with_columns(side=pl.lit(None, pl.String))
    names = pl.DataFrame(schema={"id": pl.String, "name": pl.String})
    report = Report.of({"sets": sets, "names": names})
    assert chains(report)["load_pct"].to_list() == [100, 75, 50]
    assert chains(report)["reps_pct"].to_list() == [100, 80, 90]
    assert chains(report)["chains"].to_list() == [2, 2, 2]


def test_the_first_stretch_is_the_window_of_the_chart_above(demo_report):
    figure = charts.linked_figure(demo_report, exercise(demo_report), 700)
    above, below = figure.chart.to_dict()["vconcat"]
    days = [layer["encoding"]["x"] for layer in above["layer"] if "x" in layer["encoding"]]
    assert all(day["scale"]["domain"] == {"param": "one", "encoding": "x"} for day in days)
    assert {param["name"] for param in figure.spec["params"]} == {"one", "two"}
    names = {layer["data"]["name"] for layer in above["layer"]}
    assert names | {"sessions"} >= set(figure.spec["datasets"])
    assert above["width"] == below["width"] == 700
    cut = [layer for layer in above["layer"] if "transform" in layer]
    assert cut
    assert all(layer["mark"]["clip"] is False for layer in cut)
