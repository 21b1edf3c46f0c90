"""Titles: what the lines around a header declare of the columns below: unit, order of dates, a legend."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from analytics.intake.cells.dayorder import declared_order
from analytics.intake.cells.loads import parse_unit
from analytics.intake.cells.numbers import tidy
from analytics.intake.cells.plain import plain
from analytics.intake.cells.vocabulary import meanings
from analytics.intake.cells.words import parse_role, parse_side
from analytics.intake.header.heading import Dictionary, Heading, normal, read_heading

_UNIT_LINE = re.compile(
    r"(?:all |alle |todos |tous )?(?:weight |load |gewichts ?|default )?(?:units?|weights?|loads?"
    r"|einheit(?:en)?|gewichte?|pesos?|poids|cargas?|charges?|carichi|carico|unidad(?:es)?|unites?|unita"
    r"|eenheid|gewichtseenheid)"
    r"(?: (?:of|de|der|di|used|system))*(?: (?:weight|peso|poids|gewicht|load|carga|carico))?"
    r"\s*(?:in|en|em|are|is|sind|ist|son|sont|sono|:|=|-|\s)*\s+\(?(\S+?)\)?"
)
# ``Everything in kg`` or ``My log, all loads in lb``; a line about the athlete's own weight declares nothing.
_ALL_IN = re.compile(
    r"(?!.*(?:body|korper|corp|goal|target|ziel|lost|gain))(?:[^\W\d_]+,? ){0,6}(?:in|en|em) \(?(\S+?)\)?\.?"
)
_ENTRY = re.compile(r"(?:^|[,;/|:(]\s*|\s)([^\W\d_]{1,6}\.?)\s*[=:]\s*([^=:,;/|]{2,60}?)(?=\s*(?:[,;/|)]|$))")
_BEHIND = re.compile(
    rf"([^\W\d_]{{1,3}})\s+(?:{'|'.join(meanings('behind'))})\s[^=:]{{2,30}}[=:]\s*(.{{2,60}})"
)
"""What a letter behind a number means, ``E behind the reps = to failure``."""
_SHORTEST_NAME = 3

Cells = Sequence[str | None]


def said_unit(titles: Sequence[Cells]) -> str | None:
    """The unit that a line above the header declares, such as ``Weights in lb``."""
    for record in titles:
        text = " ".join(cell for cell in record if cell)
        words = plain(tidy(text[:80]).replace(":", ": ").replace("=", "= "))
        for found in (_UNIT_LINE.fullmatch(words), _ALL_IN.fullmatch(words)):
            if found and (unit := parse_unit(found[1])) in ("kg", "lb"):
                return unit
    return None


def said_order(titles: Sequence[Cells]) -> str | None:
    """The order of day and month that a line above the header declares, such as ``Dates: DD/MM/YYYY``."""
    return next(
        (order for record in titles for cell in record if cell and (order := declared_order(cell))), None
    )


def read_legend(lines: Sequence[Cells], known: Mapping[str, str]) -> dict[str, str]:
    """Abbreviation (normal) to its word, ``C = calentamiento, E = efectiva``, of roles, failure and sides, or
    of the name of a column in up to three letters, ``G = Gewicht``.

    The first cell of such a line has an entry, and each is explained once in the file; what a bracket adds,
    ``descarga (back-off)``, counts first.  ``E behind the reps = to failure`` explains E.
    """
    found: dict[str, set[str]] = {}
    for record in lines:
        filled = [cell.strip() for cell in record if cell and cell.strip()]
        if filled and (behind := _BEHIND.fullmatch(plain(filled[0]))) and (meant := _meant(behind[2])):
            found.setdefault(behind[1], set()).add(meant)
            continue
        if not filled or not _ENTRY.search(filled[0]):
            continue
        for short, word in _ENTRY.findall(", ".join(filled)):
            names_column = len(short) <= _SHORTEST_NAME and normal(word) in known
            if meant := word.strip() if names_column else _meant(word):
                found.setdefault(normal(short), set()).add(meant)
    return {short: meant.pop() for short, meant in found.items() if len(meant) == 1}


def with_legend(known: Mapping[str, str], legend: Mapping[str, str]) -> Mapping[str, str]:
    """The dictionary with the abbreviations that a file explains, of the words that name columns."""
    roles = {short for short, word in legend.items() if any(parse_role(word)[:2])}
    fields = {short: known[normal(word)] for short, word in legend.items() if normal(word) in known}
    of_columns = not fields.keys() <= roles
    more = {short: field for short, field in fields.items() if of_columns or field == "warm_up"}
    reserve = {short: field for short, field in more.items() if field == "rir" and known.get(short) == "rpe"}
    if roles and not of_columns:
        more |= dict.fromkeys(meanings("abbreviated"), "role")
    return Dictionary({**more, **known, **reserve}) if more else known


def _meant(word: str) -> str | None:
    before, _, inside = word.partition("(")
    for part in (inside.rstrip(" )"), before, word):
        role, fails, _ = parse_role(part)
        if part.strip(" -") and (role or fails or parse_side(part)[0]):
            return part.strip()
    return None


def continued(
    header: Cells, below: Cells, headings: Sequence[Heading], known: Mapping[str, str]
) -> list[Heading] | None:
    """The headings of a header of two lines, ``Load`` over ``in kg``; None where the line below is no part.

    That is a line without a number that gives some column a unit, or a name that is known only with it.
    """
    told = {h.column: h for h in headings}
    if any(c.isdigit() for cell in below for c in cell or ""):
        return None
    taken = {h.field for h in headings}
    better: dict[int, Heading] = {}
    for column, (above, cell) in enumerate(zip(header, below, strict=False)):
        if not (above and above.strip() and cell and cell.strip()):
            continue
        mine = told.get(column)
        hyphened = above.rstrip().removesuffix("-")
        joined = hyphened + cell.strip() if hyphened != above.rstrip() else f"{hyphened} {cell.strip()}"
        now = read_heading(column, joined, known)
        if now is None or (mine is None and now.field in taken) or (mine and now.field != mine.field):
            continue
        if mine is None or (now.unit and now.unit != mine.unit):
            kept = mine.set_number if mine else now.set_number
            better[column] = Heading(column, above, now.field, now.unit, now.side, kept, now.role)
    if not better:
        return None
    return sorted(
        [*(h for h in headings if h.column not in better), *better.values()], key=lambda h: h.column
    )
