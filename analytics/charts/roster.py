"""Roster: the slopes of many athletes side by side, and where each one stands on the way to the stage."""

from __future__ import annotations

import altair as alt
import polars as pl

from analytics.charts.figure import Figure, Said, figure_of
from analytics.charts.look import HELD, QUIET, STATES, dressed, state_colour, state_shape, state_words
from analytics.charts.shape import Gap, over, shape

MOST_ROWS = 40
MOST_ATHLETES = 60
_ROW = 19
_STATES = STATES | {"held": HELD}

_NOTHING = [{"zero": 0}]


def _nothing() -> alt.Chart:
    """The line of no change."""
    return over("nothing").mark_rule(color=QUIET, aria=False).encode(x=alt.X("zero:Q"))


def _word() -> pl.Expr:
    return pl.col("state").replace_strict(state_words(_STATES), default=pl.col("state"))


def _colour() -> alt.Color:
    return alt.Color("word:N", scale=state_colour(_STATES), title="state")


def _shape() -> alt.Shape:
    return alt.Shape("word:N", scale=state_shape(_STATES), title="state")


@shape
def _slopes() -> alt.LayerChart:
    y = alt.Y("label:N", sort=Gap("order"), title=None, axis=alt.Axis(labelLimit=260))
    x = alt.X("slope:Q", title="slope, % a week")
    tips = [
        alt.Tooltip("label:N", title="lift"),
        alt.Tooltip("slope:Q", title="% a week"),
        alt.Tooltip("low:Q", title="low"),
        alt.Tooltip("high:Q", title="high"),
        alt.Tooltip("kg:Q", title="estimated 1RM, kg"),
        alt.Tooltip("word:N", title="state"),
    ]
    layers = [
        _nothing(),
        over("lifts")
        .mark_rule(strokeWidth=2, opacity=0.55, aria=False)
        .encode(y=y, x=alt.X("low:Q"), x2=alt.X2("high:Q"), color=_colour()),
        over("lifts")
        .mark_point(filled=True, size=80, opacity=1, description=Gap("say"))
        .encode(y=y, x=x, color=_colour(), shape=_shape(), tooltip=tips),
    ]
    return dressed(alt.layer(*layers), height=Gap("height"))


def slopes_figure(lifts: pl.DataFrame, whose: str = "that are on the attention list") -> Figure:
    """Slopes with 80 % intervals of some lifts, steepest loss first; `whose` says in words which.

    `lifts` has one row per lift: athlete_name, lift_name, state (or `held`), slope_pct_per_week, slope_low,
    slope_high, strength_kg.  At most forty rows are drawn; the sentence says how many there were.
    """
    shown = lifts.sort("slope_pct_per_week", "athlete_name", "lift_name").head(MOST_ROWS)
    shown = shown.with_columns(word=_word(), label=pl.format("{}: {}", "athlete_name", "lift_name"))
    data = shown.select(
        "label", "word", slope="slope_pct_per_week", low="slope_low", high="slope_high", kg="strength_kg"
    )
    more = f" The {shown.height} lowest of {lifts.height} are drawn." if lifts.height > shown.height else ""
    say = f"Slopes of {lifts.height} lifts {whose}, with 80 % intervals.{more}"
    table = shown.select(
        pl.col("athlete_name").alias("athlete"),
        pl.col("lift_name").alias("lift"),
        pl.col("word").alias("state"),
        pl.col("slope_pct_per_week").round(2).alias("% a week"),
        pl.col("slope_low").round(2).alias("low"),
        pl.col("slope_high").round(2).alias("high"),
        pl.col("strength_kg").round(1).alias("estimated 1RM, kg"),
    )
    said = Said(sentence=say, table=table, decimals=dict.fromkeys(("% a week", "low", "high"), 2))
    gaps = {"order": shown["label"].to_list(), "height": _ROW * max(shown.height, 1)}
    return figure_of(_slopes, said, {"lifts": data, "nothing": _NOTHING}, gaps)


@shape
def _spread() -> alt.LayerChart:
    marks = (
        over("lifts")
        .mark_point(filled=True, size=60, opacity=0.85, description=Gap("say"))
        .encode(
            y=alt.Y("name:N", sort=Gap("order"), title=None),
            x=alt.X("slope:Q", title="slope, % a week"),
            color=_colour(),
            shape=_shape(),
            tooltip=[
                alt.Tooltip("name:N", title="athlete"),
                alt.Tooltip("lift:N"),
                alt.Tooltip("slope:Q", title="% a week"),
                alt.Tooltip("word:N", title="state"),
            ],
        )
    )
    return dressed(alt.layer(_nothing(), marks), height=Gap("height"))


def spread_figure(lifts: pl.DataFrame) -> Figure:
    """One row per athlete, one mark per lift, in the given order; columns as for `slopes_figure`."""
    athletes = lifts["athlete_name"].unique(maintain_order=True)
    drawn = athletes.head(MOST_ATHLETES)
    shown = lifts.filter(pl.col("athlete_name").is_in(drawn.implode())).with_columns(word=_word())
    more = (
        f" The first {drawn.len()} of {athletes.len()} athletes are drawn."
        if athletes.len() > drawn.len()
        else ""
    )
    say = f"Every lift of {athletes.len()} athletes by its slope.{more}"
    data = shown.select(name="athlete_name", lift="lift_name", slope="slope_pct_per_week", word="word")
    counts = (
        shown.group_by("athlete_name", maintain_order=True)
        .agg(
            *[(pl.col("state") == state).sum().alias(word) for state, (_, _, word) in _STATES.items()],
            pl.col("slope_pct_per_week").median().round(2).alias("median slope, % a week"),
        )
        .rename({"athlete_name": "athlete"})
    )
    said = Said(sentence=say, table=counts, decimals={"median slope, % a week": 2})
    gaps = {"order": drawn.to_list(), "height": _ROW * max(drawn.len(), 1)}
    return figure_of(_spread, said, {"lifts": data, "nothing": _NOTHING}, gaps)
