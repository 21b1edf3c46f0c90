"""Outcomes: what the coach decided, and what the lift or muscle group did before and since."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import polars as pl

from analytics.charts import Report, period_slope
from analytics.publish.show import Look, Shown, table, words
from analytics.wording import signed

_BEFORE = timedelta(weeks=8)
_SETS_WEEKS = timedelta(weeks=4)
_MOST = 8
_TEXT = """## Decisions and what came since

Slopes are straight lines through the sessions of the eight weeks before and of the time since, with their
80 % interval. They know nothing of deloads or travel, and other things changed too: they are no proof that a
decision worked. For a muscle group it is the mean of its weekly sets, four weeks before and since."""


def outcomes(report: Report) -> list[Shown]:
    """The coach's last eight decisions about this athlete, newest first, with before and since."""
    told = report["decisions"].sort("date", "subject", descending=[True, False]).head(_MOST)
    rows = [row for decision in told.to_dicts() for row in _rows(report, decision)]
    if not rows:
        return []
    schema = dict.fromkeys(("subject", "decided", "because", "before", "since"), pl.String)
    frame = pl.DataFrame(rows, schema={"date": pl.Date, **schema})
    return [words(_TEXT), table(frame, Look(labels={"since": "since then"}))]


def _rows(report: Report, decision: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """One row per lift that the decision is about: all lifts of a family, none for a muscle group."""
    subject, day = decision["subject"], decision["date"]
    lifts = report["lifts"].filter((pl.col("exercise") == subject) | (pl.col("family") == subject))
    about = {"date": day, "decided": decision["what"], "because": decision["why"] or ""}
    for lift in lifts["exercise"]:
        before = _slope(report, lift, day - _BEFORE, day - timedelta(days=1))
        since = _slope(report, lift, day, report.as_of)
        yield about | {"subject": report.word(lift), "before": before, "since": since}
    if lifts.is_empty():
        before = _sets(report, subject, day - _SETS_WEEKS, day)
        since = _sets(report, subject, day, report.as_of)
        yield about | {"subject": report.word(subject), "before": before, "since": since}


def _slope(report: Report, lift: str, first: date, last: date) -> str:
    slope = period_slope(report, lift, first, last)
    if slope is None:
        return "too few sessions"
    interval = f"({signed(slope.low)} to {signed(slope.high)})"
    return f"{signed(slope.pct_per_week)} % a week {interval}, {slope.sessions} sessions"


def _sets(report: Report, muscle: str, first: date, last: date) -> str:
    """Mean fractional sets of the ISO weeks that end after `first` and not after `last`."""
    own = (pl.col("muscle") == muscle) & (pl.col("week_end") > first) & (pl.col("week_end") <= last)
    weeks = report["muscle_weeks"].filter(own)
    if weeks.is_empty():
        return "not counted"
    return f"{weeks['fractional_sets'].sum() / weeks.height:.1f} sets a week, {weeks.height} weeks"
