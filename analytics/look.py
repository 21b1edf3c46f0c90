"""Look: one ad-hoc chart of one athlete, and its few numbers as lines."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import nbformat.v4
import polars as pl

from analytics import __version__
from analytics.charts import Figure, Report, lift_figure, muscle_figure, slopes_figure
from analytics.errors import BadCall, BadExport
from analytics.intake import Intake, latest_week_end, one_batch, part_of, read_batch
from analytics.publish.library import library
from analytics.publish.marks import with_library
from analytics.publish.pages import page
from analytics.publish.report import Facts
from analytics.publish.sections.blocks import drawn
from analytics.review import CAUTIONS
from analytics.week import analyse

FORMATS = (".png", ".svg", ".html")
_PIXELS_PER_POINT = 2
_WIDTH = 680


@dataclass(frozen=True, kw_only=True)
class Look:
    """What to look at: an athlete, and a lift or muscle group (all lifts without one), drawn to `out`."""

    folder: Path
    athlete: str
    subject: str | None = None
    out: Path | None = None


@dataclass(frozen=True, kw_only=True)
class Seen:
    """The figure that was drawn, and its few numbers as lines for a terminal."""

    figure: Figure
    lines: tuple[str, ...]
    failures: tuple[BadExport, ...] = ()


def look(asked: Look, today: date) -> Seen:
    """Draw what is asked for, from the folder as it is today; writes `out` if one is named.

    Raises BadCall for an unknown athlete, subject or kind of picture.
    """
    if asked.out is not None and asked.out.suffix.lower() not in FORMATS:
        raise BadCall(f"{asked.out} is no picture this can write. Use one of {', '.join(FORMATS)}")
    intake, as_of = _read(asked, today)
    report = Report.of(analyse(intake, as_of))
    figure = _figure(report, intake, asked.subject)
    refused = [f"refused: {failure}" for failure in intake.failures]
    lines = (figure.description, *_lines(figure.table), *refused)
    if asked.out is not None:
        _write(figure, asked.out, report)
        lines = (*lines, str(asked.out))
    return Seen(figure=figure, lines=lines, failures=intake.failures)


def _read(asked: Look, today: date) -> tuple[Intake, date]:
    """The athlete's logs, as of the last week that is complete in the logs of the whole roster.

    Where the athlete trained in the last week before `today`, nobody else's logs need to be read for that.
    """
    batch = one_batch(asked.folder)
    if asked.athlete not in batch.athletes:
        raise BadCall(f"no athlete {asked.athlete!r} in the roster. Known ones: {', '.join(batch.athletes)}")
    last_sunday = today - timedelta(days=today.isoweekday() % 7)
    intake = read_batch(part_of(batch, [asked.athlete]), last_sunday)
    if latest_week_end(intake.sets, last_sunday) == last_sunday:
        return intake, last_sunday
    everyone = read_batch(batch, last_sunday)
    as_of = latest_week_end(everyone.sets, last_sunday)
    if as_of is None:
        raise BadCall(f"{asked.folder} holds no set of a week that is complete by {today}. Add exports")
    return read_batch(part_of(batch, [asked.athlete]), as_of), as_of


def _figure(report: Report, intake: Intake, subject: str | None) -> Figure:
    lifts = report["lifts"]
    if subject is None:
        if lifts.is_empty():
            raise BadCall(f"no lift of {report.who['athlete']} can tell strength yet")
        named = lifts.with_columns(
            lift_name=report.named("exercise"), athlete_name=pl.lit(report.who["name"])
        )
        return slopes_figure(named, f"of {report.who['name']}")
    muscles = report["muscles"]["muscle"].to_list()
    wanted = subject.strip().lower()
    for muscle in muscles:
        if wanted in (muscle, report.word(muscle).lower()):
            return muscle_figure(report, muscle)
    exercise = intake.catalogue.match([subject])["exercise"][0]
    if exercise not in lifts["exercise"].to_list():
        known = sorted(report.word(one) for one in [*lifts["exercise"], *muscles])
        raise BadCall(f"no lift or muscle group {subject!r} in this log. Known ones: {', '.join(known)}")
    return lift_figure(report, exercise)


def _lines(table: pl.DataFrame) -> list[str]:
    rows = [table.columns, *([_word(value) for value in row] for row in table.rows())]
    widths = [max(len(row[i]) for row in rows) for i in range(len(table.columns))]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows
    ]


def _word(value: object) -> str:
    if value is None:
        return "-"
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def _write(figure: Figure, out: Path, report: Report) -> None:
    kind = out.suffix.lower()
    out.parent.mkdir(parents=True, exist_ok=True)
    if kind != ".html":
        chart = figure.chart.properties(width=_WIDTH)
        chart.save(out, scale_factor=_PIXELS_PER_POINT if kind == ".png" else 1)
        return
    bundle = dict(drawn(figure).bundle)
    output = nbformat.v4.new_output("display_data", data=bundle)
    cell = nbformat.v4.new_code_cell(outputs=[output])
    who = report.who
    facts = Facts(
        title=who["name"],
        week=who["week"],
        as_of=who["as_of"].isoformat(),
        version=__version__,
        key="",
        inputs_hash="",
        home="",
        cautions=CAUTIONS,
    )
    text = page(nbformat.v4.new_notebook(cells=[cell]), facts)
    out.write_text(with_library(text, library(out.parent)), encoding="utf-8")
