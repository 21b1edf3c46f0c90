"""Charts: the figures of the evidence report as Altair charts."""

from __future__ import annotations

import altair as alt
import polars as pl

WIDTH = 420


def detection_chart(table: pl.DataFrame) -> alt.Chart:
    """AUC by weeks after onset, one line per score; yes-or-no rules are dots on the same scale."""
    columns = [c for c in table.columns if c.startswith("auc_")]
    long = table.unpivot(columns, index=["world", "score"], variable_name="after", value_name="auc")
    long = long.with_columns(weeks=pl.col("after").str.extract(r"(\d+)").cast(pl.Int32))
    return (
        alt.Chart(long)
        .mark_line(
            point=True, description="Chance to rank a lift that left progress above one that progresses"
        )
        .encode(
            x=alt.X("weeks:Q", title="weeks after progress ended", axis=alt.Axis(values=[4, 6, 8, 12])),
            y=alt.Y("mean(auc):Q", title="area under the curve", scale=alt.Scale(zero=False)),
            color=alt.Color("score:N", title=None),
            strokeDash=alt.StrokeDash("score:N", legend=None),
        )
        .properties(width=WIDTH, height=260)
    )


def reliability_chart(bins: pl.DataFrame) -> alt.LayerChart:
    """Share of lift-weeks that did not progress, beside the probability told, in tenths of the lift-weeks."""
    line = (
        alt.Chart(pl.DataFrame({"said": [0.0, 1.0], "happened": [0.0, 1.0]}))
        .mark_line(strokeDash=[4, 4], color="gray")
        .encode(x="said:Q", y="happened:Q")
    )
    dots = (
        alt.Chart(bins)
        .mark_line(point=True, description="Told probability of no progress against how often it was true")
        .encode(
            x=alt.X("said:Q", title="probability told", scale=alt.Scale(domain=[0, 1])),
            y=alt.Y("happened:Q", title="share that did not progress", scale=alt.Scale(domain=[0, 1])),
            color=alt.Color("world:N", title=None),
        )
    )
    return (line + dots).properties(width=300, height=300)


def coverage_chart(table: pl.DataFrame) -> alt.LayerChart:
    """Share of truths inside the told 80 % intervals, one row per world and kind of interval."""
    kinds = [c for c in table.columns if c != "world"]
    long = table.unpivot(kinds, index="world", variable_name="interval", value_name="inside")
    dots = (
        alt.Chart(long)
        .mark_point(filled=True, size=60, description="Share of truths inside the 80 % intervals, by world")
        .encode(
            x=alt.X("inside:Q", title="share inside the interval", scale=alt.Scale(domain=[0, 1])),
            y=alt.Y("world:N", title=None),
            color=alt.Color("interval:N", title=None),
            shape=alt.Shape("interval:N", legend=None),
        )
    )
    rule = alt.Chart(pl.DataFrame({"inside": [0.8]})).mark_rule(color="gray").encode(x="inside:Q")
    return (rule + dots).properties(width=WIDTH)
