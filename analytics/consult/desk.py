"""Desk: the controls of the consult notebook; every answer is drawn the moment something is chosen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import ipywidgets as widgets
from IPython.display import display

from analytics.charts import (
    Figure,
    Report,
    compared_figure,
    linked_figure,
    muscle_figure,
    period_slope,
)
from analytics.consult import decisions, shelf
from analytics.errors import BadCall
from analytics.publish.sections.blocks import drawn
from analytics.publish.show import Shown, words
from analytics.wording import signed

ALONE = "nothing"
_WIDTH = 700
_WIDE = widgets.Layout(width="18rem")
_TEXT = widgets.Layout(width="24rem")
_DAY = widgets.Layout(width="19rem")
_LABEL = {"description_width": "7rem"}
_ENDS = ("first from", "to", "second from", "to")


class Desk:
    """What the coach has chosen, the controls for it, and where the answer is drawn."""

    def __init__(self, folder: Path, tables: Path) -> None:
        self._folder, self._tables, self._filling = folder, tables, True
        self.athlete = widgets.Dropdown(options=shelf.athletes(tables), description="athlete", layout=_WIDE)
        self.subject = widgets.Dropdown(description="look at", layout=_WIDE)
        self.beside = widgets.Dropdown(description="beside", layout=_WIDE)
        self.days = [widgets.DatePicker(description=name, layout=_DAY, style=_LABEL) for name in _ENDS]
        self.slopes = widgets.HTML()
        self.what = widgets.Text(description="decision", layout=_TEXT)
        self.why = widgets.Text(description="because", layout=_TEXT)
        self.write = widgets.Button(description="write it down")
        self.said = widgets.HTML()
        self.answer = widgets.Output()
        self.athlete.observe(self._new_athlete, names="value")
        self.subject.observe(self._draw, names="value")
        self.beside.observe(self._draw, names="value")
        for day in self.days:
            day.observe(self._read_slopes, names="value")
        self.write.on_click(self._decide)
        self._new_athlete()

    @property
    def report(self) -> Report:
        """The chosen athlete's tables."""
        return shelf.report(self._tables, self.athlete.value)

    def box(self) -> widgets.VBox:
        """All controls and the answer, top to bottom."""
        return widgets.VBox(
            [
                widgets.HBox([self.athlete, self.subject, self.beside]),
                self.answer,
                widgets.HBox(self.days[:2]),
                widgets.HBox(self.days[2:]),
                self.slopes,
                widgets.HBox([self.what, self.why, self.write]),
                self.said,
            ]
        )

    def _new_athlete(self, change: Any = None) -> None:
        report = self.report
        lifts = sorted((report.word(one), f"lift:{one}") for one in report["lifts"]["exercise"])
        muscles = sorted((report.word(one), f"muscle:{one}") for one in report["muscles"]["muscle"])
        self._filling = True
        self.subject.options = [*lifts, *muscles]
        self.subject.value = self.subject.options[0][1] if self.subject.options else None
        self.beside.options = [(ALONE, ""), *lifts]
        self.beside.value = ""
        self._filling = False
        self._draw()

    def _draw(self, change: Any = None) -> None:
        if self._filling:
            return
        kind, _, subject = (self.subject.value or "").partition(":")
        other = (self.beside.value or "").partition(":")[2]
        shown = _answers(self.report, kind, subject, other)
        # One message with the whole answer is drawn sooner than an output that is captured piece by piece.
        self.answer.outputs = tuple(
            {"output_type": "display_data", "data": dict(one.bundle), "metadata": {}} for one in shown
        )
        self._read_slopes()

    def _read_slopes(self, change: Any = None) -> None:
        kind, _, subject = (self.subject.value or "").partition(":")
        if kind != "lift":
            self.slopes.value = ""
            return
        spans = [(self.days[0].value, self.days[1].value), (self.days[2].value, self.days[3].value)]
        self.slopes.value = "<br>".join(
            _slope_words(self.report, subject, *span) for span in spans if all(span)
        )

    def _decide(self, button: Any = None) -> None:
        decision = decisions.Decision(
            date=self.report.as_of,
            athlete=self.athlete.value,
            subject=(self.subject.value or "").partition(":")[2],
            what=self.what.value,
            why=self.why.value,
        )
        try:
            decisions.add(decision, self._folder / "decisions.csv")
        except (BadCall, OSError) as problem:
            self.said.value = f"Not written: {_escaped(str(problem))}"
            return
        self.what.value = self.why.value = ""
        self.said.value = "Written to decisions.csv."


def _sized(figure: Figure) -> Shown:
    """The figure at a fixed width: in a notebook's output, a chart as wide as its place never settles."""
    return drawn(replace(figure, spec={**figure.spec, "width": _WIDTH}))


def _answers(report: Report, kind: str, subject: str, other: str) -> list[Shown]:
    if kind == "muscle":
        return [_sized(muscle_figure(report, subject))]
    if kind != "lift":
        return [words("No lift can tell strength yet.")]
    if other and other != subject:
        return [_sized(compared_figure(report, (subject, other)))]
    return [drawn(linked_figure(report, subject, _WIDTH))]


def _slope_words(report: Report, exercise: str, first: date, last: date) -> str:
    slope = period_slope(report, exercise, first, last)
    when = f"{first:%d %b %Y} to {last:%d %b %Y}"
    if slope is None:
        return f"{when}: fewer than four sessions, no slope."
    return (
        f"{when}: {signed(slope.pct_per_week)} % a week (80 % interval {signed(slope.low)} to "
        f"{signed(slope.high)}), {slope.sessions} sessions."
    )


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;")


def desk(folder: str, tables: str, show: Callable[[Any], Any] = display) -> Desk:
    """The desk for a roster folder and the shelf of its tables, shown at once."""
    made = Desk(Path(folder), Path(tables))
    show(made.box())
    return made
