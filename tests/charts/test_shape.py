import json
from datetime import date

import altair as alt
import polars as pl
import pytest

from analytics.charts.look import dressed
from analytics.charts.shape import Gap, filled, over, plain, shape


@shape
def outline():
    points = over("points").mark_point(description=Gap("say")).encode(x=alt.X("day:T"), y=alt.Y("kg:Q"))
    rule = over("marks").mark_rule().encode(x=alt.X("day:T"))
    return dressed(alt.layer(points, rule), height=Gap("height"))


POINTS = pl.DataFrame({"day": [date(2026, 1, 5), date(2026, 1, 12)], "kg": [100.004, 101.5]})


def test_a_filled_shape_is_the_chart_that_altair_makes_of_the_same_rows():
    given = filled(
        outline, {"points": POINTS, "marks": [{"day": date(2026, 1, 7)}]}, {"say": "s", "height": 90}
    )
    days = POINTS.with_columns(pl.col("day").dt.strftime("%Y-%m-%d"), pl.col("kg").round(2))
    points = alt.Chart(days).mark_point(description="s").encode(x=alt.X("day:T"), y=alt.Y("kg:Q"))
    rule = alt.Chart(pl.DataFrame({"day": ["2026-01-07"]})).mark_rule().encode(x=alt.X("day:T"))
    expected = dressed(alt.layer(points, rule), height=90).to_dict()
    data = expected.pop("datasets")
    for layer, name in zip(expected["layer"], ("points", "marks"), strict=True):
        assert data[layer["data"]["name"]] == json.loads(given["datasets"][name])
        layer["data"] = {"name": name, "format": {"type": "json"}}
    assert given == {**expected, "datasets": given["datasets"]}
    assert alt.Chart.from_dict(given).to_dict() == given


def test_a_layer_without_rows_is_left_out_and_the_shape_stays_as_it_was():
    before = str(outline)
    given = filled(outline, {"points": POINTS, "marks": []}, {"say": "s", "height": 90})
    assert [layer["data"]["name"] for layer in given["layer"]] == ["points"]
    assert list(given["datasets"]) == ["points"]
    assert str(outline) == before


def test_a_gap_that_nobody_fills_is_a_mistake():
    with pytest.raises(KeyError, match="height"):
        filled(outline, {"points": POINTS}, {"say": "s"})


def test_rows_become_json_values():
    frame = pl.DataFrame({"kg": [1.006, float("nan"), None], "log_kg": [0.1234567, 1.0, 2.0], "n": [1, 2, 3]})
    assert plain(frame) == [
        {"kg": 1.01, "log_kg": 0.123457, "n": 1},
        {"kg": None, "log_kg": 1.0, "n": 2},
        {"kg": None, "log_kg": 2.0, "n": 3},
    ]
