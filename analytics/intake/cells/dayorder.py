"""Day order: whether the dates of one file have the day or the month first, decided once by all of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from analytics.intake.cells.dates import Moment

ORDERS = ("dmy", "mdy", "ymd")
MOST_FIT = 0.8
"""The athlete's own order stands against a few dates where so many of the different ones fit (own rule)."""
_DOTTED = re.compile(r"\D*\d{1,2}\s?\.\s?\d{1,2}\s?\.")
_MONTHS = 12


@dataclass(frozen=True, slots=True)
class Order:
    """The file's order of day and month.  `order` None: it has to be asked for (`needed`) or is contradicted.

    `clash` holds two texts that cannot be of one order.
    """

    order: str | None
    needed: bool = False
    clash: tuple[str, str] | None = None


def decide_order(texts: Iterable[str], moments: Mapping[str, Moment], default: str | None) -> Order:
    """The order all the file's texts agree on; else `default` where they leave it open; else none.

    A text that is no day under any order is a broken cell and has no vote.  Year first with two digits is
    only taken where nothing else fits, where the file then has fewer different years, or by default.  Dates
    that all have dots, ``02.03.2026``, have the day first where nothing else is said.
    """
    voters = [text for text in texts if moments[text].by_order and any(moments[text].by_order.values())]
    voters = _without_other_years(voters, moments)
    if not voters:
        return Order(order=None)
    fits = {order: [t for t in voters if moments[t].by_order.get(order)] for order in ORDERS}
    whole = [order for order in ORDERS if len(fits[order]) == len(voters)]
    if not whole:
        only_dmy = next((t for t in voters if not moments[t].by_order.get("mdy")), voters[0])
        only_mdy = next((t for t in voters if not moments[t].by_order.get("dmy")), voters[-1])
        return Order(order=None, clash=(only_dmy, only_mdy))
    if (of_weekdays := _fits_weekdays(whole, [moments[text] for text in voters])) is not None:
        return Order(order=of_weekdays)
    if default in whole:
        return Order(order=default)
    usual = [order for order in whole if order != "ymd"] or whole
    years = {order: len({moments[t].by_order[order].year for t in voters}) for order in whole}  # type: ignore[union-attr]
    if "ymd" in whole and years["ymd"] < min(years[order] for order in usual):
        return Order(order="ymd")
    if len(usual) == 1:
        return Order(order=usual[0])
    if all(len({moments[t].by_order[o] for o in usual}) == 1 for t in voters):
        return Order(order=usual[0])
    if all(_DOTTED.match(t) for t in voters):
        return Order(order="dmy")
    return Order(order=None, needed=True)


def _without_other_years(voters: list[str], moments: Mapping[str, Moment]) -> list[str]:
    """The votes without broken cells that only the year at the other end would make days: ``31/02/26``.

    Nearly all fit the order of the fewer different years, and the others would lie in years of their own.
    """
    fits = {text: [o for o in ORDERS if moments[text].by_order.get(o)] for text in voters}
    years = {o: {moments[t].by_order[o].year for t in voters if o in fits[t]} for o in ORDERS}  # type: ignore[union-attr]
    for order, other in (("dmy", "ymd"), ("mdy", "ymd"), ("ymd", "dmy"), ("ymd", "mdy")):
        left = [text for text in voters if order in fits[text]]
        few = len(years[order]) < len(years[other]) and MOST_FIT * len(voters) <= len(left) < len(voters)
        if few and all(order in fits[text] or fits[text] == [other] for text in voters):
            return left
    return voters


def stands(order: str, moments: Sequence[Moment]) -> bool:
    """Whether the athlete's own order stands against dates that are no days under it.

    `moments`: the dates that have an order, in the lines of the file, each once.  Nearly all fit, and so read
    the days go one way: then no other date can be one of those written in the other order.
    """
    days = [day for moment in moments if (day := moment.day(order))]
    one_way = days in (sorted(days), sorted(days, reverse=True))
    return one_way and len(days) >= MOST_FIT * len(moments)


def swapped(texts: Iterable[date], dates: Mapping[str, date]) -> set[str]:
    """Those of `dates` (serial numbers, year first) whose day and month a spreadsheet may have exchanged.

    One that expects the other order than the athlete's takes a text such as 03/08/2026 for a date, with the
    two exchanged, where its first number is no more than 12, and leaves the other ones as `texts`.  So it
    looks where at least two are left, all with a later day, and at least two are dates, none with one.
    """
    left = set(texts)
    if min(len(left), len(dates)) < 2 or any(day.day <= _MONTHS for day in left):
        return set()
    return set() if any(day.day > _MONTHS for day in dates.values()) else set(dates)


def declared_order(header: str) -> str | None:
    """The order a header or a title declares, such as ``Date (mm/dd/yyyy)`` or ``Datum (TT.MM.JJJJ)``."""
    found = re.search(
        r"\b([dtjg])\1?\W(m)\2?\W[yajr]{2,4}\b|\b(m)\3?\W([dtjg])\4?\W[yajr]{2,4}\b", header.lower()
    )
    if not found:
        return None
    return "dmy" if found[1] else "mdy"


def _fits_weekdays(orders: list[str], moments: list[Moment]) -> str | None:
    """The one order under which every written weekday is that of its day; None where there is no such one."""
    dated = [moment for moment in moments if moment.weekday]
    fits = [
        order
        for order in orders
        if all((day := moment.by_order[order]) and day.isoweekday() == moment.weekday for moment in dated)
    ]
    return fits[0] if dated and len(fits) == 1 else None
