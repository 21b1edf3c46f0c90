"""Days: the date and time cells of one sheet, with the order of day and month decided for the whole file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import polars as pl

from analytics.errors import BadExport
from analytics.intake.cells.dates import FIRST_YEAR, LAST_YEAR, Moment, read_minutes, read_moment
from analytics.intake.cells.dayorder import Order, decide_order, declared_order, stands, swapped
from analytics.intake.columns.weekdays import weekday_of
from analytics.intake.lookup import Texts
from analytics.intake.rows.problems import Problems
from analytics.intake.sheet.sheet import Sheet

_ISO_TIME = (
    r"^(?<day>\d{4}-\d{2}-\d{2})[T ](?<hour>[01]\d|2[0-3]):(?<minute>[0-5]\d)(?::[0-5]\d(?:[.,]\d+)?)?"
    r"(?:Z|[+-]\d{2}:?\d{2})?$"
)

Said = Mapping[str, tuple[date | None, int | None]]
"""Day and minutes after midnight by text."""
_SIGN = re.compile(r"\d\s?([./-])\s?\d")
_NAME = re.compile(r"[^\W\d_]{2}")
_MAY_BE_SWAPPED = (
    "may have day and month exchanged by the spreadsheet: all dates it knew as dates are up to the 12th, "
    "all that it left as text are later"
)
_SHORTEST_TIME = len("2026-01-31T08:00")


@dataclass(frozen=True, kw_only=True)
class Days:
    """What each text of the date column says: `moments` by text, and the `order` as the ledger tells it."""

    moments: Said
    order: str

    def table(self, sheet: Sheet) -> pl.DataFrame:
        """`date` and `minutes` after midnight of every row; null where the cell says none."""
        column = sheet.fields["date"]
        minutes = column.spread(lambda text: self.moments[text][1], pl.Int32())
        if "time" in sheet.fields:
            clock = sheet.fields["time"].spread(read_minutes, pl.Int32())
            minutes = clock.zip_with(clock.is_not_null(), minutes)
        day = column.spread(lambda text: self.moments[text][0], pl.Date())
        return pl.DataFrame([day.alias("date"), minutes.alias("minutes")])


def read_days(sheet: Sheet, path: str, default: str | None, problems: Problems) -> Days:
    """The days of a sheet; a cell that is none goes to `problems`.

    Raises BadExport where the file has no date, where its dates contradict each other, or where nothing
    decides between day first and month first.
    """
    column = sheet.fields.get("date")
    if column is None:
        raise BadExport(
            path,
            1,
            "no column and no heading says the date",
            "Add a date column, or list its header in roster.toml under [columns]",
        )
    default = declared_order(sheet.header("date")) or sheet.units.get("date") or default
    known = _iso_moments(column.written)
    moments = {text: read_moment(text) for text in column.written if text not in known}
    if "weekday" in sheet.fields:
        moments = _with_weekdays(column, sheet.fields["weekday"], moments)
    chosen = decide_order(moments, moments, default)
    if chosen.clash:
        # What stands in no row that may hold sets, as a day alone in its line, contradicts nothing.
        stand = {column.texts[i] for i in column.ids.unique()}
        chosen = decide_order([text for text in moments if text in stand], moments, default)
    if chosen.clash and default and stands(default, [moments[text] for text in _in_lines(column, moments)]):
        chosen = Order(order=default)
    doubtful = chosen.clash or (chosen.order == "mdy" and default != "mdy")
    orders = _by_sign(column, moments) if doubtful else {}
    if chosen.clash and not orders:
        lines = [_line_of(sheet, text) for text in chosen.clash]
        raise BadExport(
            path,
            max(lines),
            f"dates contradict each other: {chosen.clash[0]!r} in line {lines[0]} has the day first, "
            f"{chosen.clash[1]!r} in line {lines[1]} the month",
            "Write all dates of the file in one order, best as 2026-01-31",
        )
    if chosen.needed:
        text = next(t for t in moments if len(set(moments[t].by_order.values())) > 1)
        raise BadExport(
            path,
            _line_of(sheet, text),
            f"{text!r} may be day first or month first, and no date of the file decides it",
            'Set date_order = "dmy" or "mdy" for this athlete in roster.toml',
        )
    found = {t: (m.day(orders.get(_sign(t), chosen.order)), m.minutes) for t, m in moments.items()}
    wrong = {
        t: moments[t].problem or f"is no day in the order of the other dates ({chosen.order})"
        for t, (day, _) in found.items()
        if day is None
    }
    wrong |= dict.fromkeys(_swapped(moments, found, known), _MAY_BE_SWAPPED)
    problems.texts("date", "date", wrong, "is empty")
    order = (
        " and ".join(dict.fromkeys(orders.values()))
        or chosen.order
        or _fixed_order([*known, *(text for text, moment in moments.items() if moment.fixed)])
    )
    return Days(moments=known | found, order=order)


def until(sheet: Sheet, path: str, default: str | None, as_of: date) -> Sheet:
    """A sheet whose lines hold several days, without the days after the run, which must change no other."""
    when = read_days(sheet, path, default, Problems(sheet)).table(sheet).get_column("date")
    later = (when > as_of).fill_null(False)
    if not later.any():
        return sheet
    fields = {name: column.take(~later) for name, column in sheet.fields.items()}
    count = when.filter(later).n_unique()
    return replace(
        sheet,
        row=sheet.row.filter(~later),
        part=sheet.part.filter(~later),
        fields=fields,
        remarks=(*sheet.remarks, f"{count} days after the date of this run are left out"),
    )


def _sign(text: str) -> str:
    """The sign between the numbers of a date; empty where there is none."""
    found = _SIGN.search(text)
    return found[1] if found else ""


def _by_sign(column: Texts, moments: Mapping[str, Moment]) -> dict[str, str]:
    """The order of each notation, ``31.08.2026`` and ``09/14/2026``, where each decides its own; else empty.

    So read the days have to go one way through the file.
    """
    open_ones = _in_lines(column, moments)
    groups: dict[str, list[str]] = {}
    for text in open_ones:
        groups.setdefault(_sign(text), []).append(text)
    decided = {sign: decide_order(group, moments, None).order for sign, group in groups.items()}
    orders = {sign: order for sign, order in decided.items() if order}
    days = [day for t in open_ones if (day := moments[t].day(orders.get(_sign(t))))]
    one_way = days in (sorted(days), sorted(days, reverse=True))
    return orders if one_way and len(orders) == len(groups) > 1 and len(days) == len(open_ones) else {}


def _with_weekdays(column: Texts, weekdays: Texts, moments: Mapping[str, Moment]) -> dict[str, Moment]:
    """The moments, each with the one weekday that stands beside it in a column of its own."""
    beside: dict[str, set[int | None]] = {}
    for day, said in pl.DataFrame([column.ids.alias("day"), weekdays.ids.alias("said")]).unique().iter_rows():
        text, weekday = column.texts[day], weekdays.texts[said]
        if text in moments and weekday:
            beside.setdefault(text, set()).add(weekday_of(weekday))
    told = {text: found.pop() for text, found in beside.items() if len(found) == 1}
    return {text: replace(m, weekday=m.weekday or told.get(text)) for text, m in moments.items()}


def _in_lines(column: Texts, moments: Mapping[str, Moment]) -> list[str]:
    """The texts of the dates that have an order, as the lines of the file first name them."""
    texts = (column.texts[i] for i in column.ids.unique(maintain_order=True))
    return [text for text in texts if text in moments and moments[text].by_order]


def _swapped(moments: Mapping[str, Moment], found: Said, known: Said) -> set[str]:
    """The dates a spreadsheet may have made of texts, with day and month exchanged."""
    texts = [day for text, (day, _) in found.items() if day and moments[text].by_order]
    if not texts:
        return set()
    fixed = {
        text: moment.fixed for text, moment in moments.items() if moment.fixed and not _NAME.search(text)
    }
    timed = {text: day for text, (day, minutes) in known.items() if day and not minutes}
    return swapped(texts, fixed | timed)


def _iso_moments(texts: list[str]) -> dict[str, tuple[date | None, int | None]]:
    """(day, minutes) of the plain ISO 8601 times, read together, because every set may have its own."""
    texts = [text for text in texts if len(text) >= _SHORTEST_TIME]
    if not texts:
        return {}
    parts = pl.Series("text", texts, dtype=pl.String).str.extract_groups(_ISO_TIME).struct.unnest()
    table = parts.select(
        pl.lit(pl.Series("text", texts, dtype=pl.String)),
        pl.col("day").str.to_date("%Y-%m-%d", strict=False),
        (pl.col("hour").cast(pl.Int32) * 60 + pl.col("minute").cast(pl.Int32)).alias("minutes"),
    ).filter(pl.col("day").dt.year().is_between(FIRST_YEAR, LAST_YEAR), pl.col("minutes") < 24 * 60)
    return {text: (day, minutes) for text, day, minutes in table.iter_rows()}


def _line_of(sheet: Sheet, text: str) -> int:
    """The first line that has this date; 1 where no row that may hold sets has it."""
    mask = sheet.fields["date"].where(lambda other: other == text)
    lines = sheet.row.filter(mask) if mask is not None else sheet.row.clear()
    return int(lines[0]) if len(lines) else 1


def _fixed_order(texts: list[str]) -> str:
    """Dates that need no order: year first, or written with a month's name or as a serial number."""
    if not texts:
        return "none"
    return "ymd" if all(re.match(r"\D{0,2}\d{4}", text) for text in texts) else "unambiguous"
