"""Look: colours, shapes and words of every chart; state is told by word and shape, colour only helps."""

from __future__ import annotations

from typing import Any

import altair as alt

from analytics.charts.shape import Gap

INK, QUIET, RULE, PAPER = "#1c1b19", "#6b6862", "#d9d5cc", "#ffffff"
LINE, BAND = "#14506e", "#9fc1d1"
AIM = "#e9e2cf"
SHADES = {
    "build": "#eef3ea",
    "cut": "#f7ecdf",
    "peak": "#f3e3ea",
    "off": "#efefef",
}
DASHES = {"progressing": [1, 0], "stalled": [10, 4], "regressing": [8, 3, 2, 3], "unsure": [1, 4]}
"""State of a lift as a line's dash."""
STATES = {
    "progressing": ("#14506e", "triangle-up", "progressing"),
    "stalled": ("#b8860b", "square", "stalled"),
    "regressing": ("#a33b20", "triangle-down", "regressing"),
    "unsure": ("#6b6862", "circle", "unsure"),
}
"""State of a lift: colour (told apart by colour-blind readers too), shape, word."""
HELD = ("#4d7a4d", "diamond", "held in a cut")
"""A lift in a cut or peak phase that loses no faster than bodyweight explains, whatever its state."""
MUSCLE_STATES = {
    "responding": ("#14506e", "triangle-up", "responding"),
    "underdosed": ("#b8860b", "square", "underdosed"),
    "not_responding": ("#a33b20", "triangle-down", "not responding"),
    "overreaching": ("#7a3b7a", "diamond", "overreaching"),
    "unsure": ("#6b6862", "circle", "unsure"),
}
FONT = "system-ui, sans-serif"


def state_colour(states: dict[str, tuple[str, str, str]]) -> alt.Scale:
    """Colour scale over the words of `states`."""
    return alt.Scale(
        domain=[word for _, _, word in states.values()], range=[c for c, _, _ in states.values()]
    )


def state_shape(states: dict[str, tuple[str, str, str]]) -> alt.Scale:
    """Shape scale over the words of `states`."""
    return alt.Scale(
        domain=[word for _, _, word in states.values()], range=[s for _, s, _ in states.values()]
    )


def state_words(states: dict[str, tuple[str, str, str]]) -> dict[str, str]:
    """From the state in a table to the word on a page."""
    return {state: word for state, (_, _, word) in states.items()}


CONFIG = alt.Config(
    font=FONT,
    background=PAPER,
    padding=4,
    view=alt.ViewConfig(stroke=None),
    axis=alt.AxisConfig(
        labelColor=QUIET,
        titleColor=QUIET,
        titleFontWeight="normal",
        gridColor=RULE,
        domainColor=RULE,
        tickColor=RULE,
        labelFontSize=12,
        labelSeparation=8,
        titleFontSize=12,
    ),
    legend=alt.LegendConfig(
        labelColor=INK, titleColor=QUIET, titleFontWeight="normal", labelFontSize=12, orient="top"
    ),
    header=alt.HeaderConfig(
        labelColor=INK, titleColor=QUIET, titleFontWeight="normal", titleFontSize=12, labelFontSize=12
    ),
)


def dressed(chart: Any, *, height: int | Gap | None = None) -> Any:
    """The chart with this package's fonts, grid and inks; one with a `height` is as wide as its place."""
    chart.config = CONFIG
    if height is not None:
        chart.height, chart.width = height, "container"
    return chart
