"""Defaults: the unit that is usual for an athlete, where a file says none."""

from __future__ import annotations

import polars as pl

from analytics.errors import BadExport
from analytics.intake.cells.units import names_two_units
from analytics.intake.rows.weights import UNIT
from analytics.intake.sheet.sheet import Sheet
from analytics.roster import Roster


def with_unit(rows: pl.DataFrame, roster: Roster, name: str, sheet: Sheet) -> tuple[pl.DataFrame, str]:
    """Rows whose loads all have a unit, the athlete's default where the file says none; and its words.

    Raises BadExport where a load is left without one, and where its column is named after two, ``kg or lb``.
    """
    lacking = pl.col("unit").is_null() & (pl.col("value") != 0)
    missing = rows.get_column("unit").has_nulls() and bool(rows.select(lacking.any()).item())
    if missing and (both := [text.strip()[:30] for text in sheet.headers.values() if names_two_units(text)]):
        found = f"the header {both[0]!r} names kg and lb, and this load is in either"
        raise BadExport(name, int(rows.filter(lacking)["row"][0]), found, "Write kg or lb behind each load")
    if missing:
        said = rows.get_column("unit")
        rows = rows.with_columns(said.zip_with(said.is_not_null(), _defaults(rows, roster)).alias("unit"))
        still = rows.filter(lacking)
        if still.height:
            raise BadExport(
                name,
                int(still["row"][0]),
                "nothing says whether the loads are kg or lb",
                'Write the unit into the header, such as "Weight (kg)", or set unit in roster.toml',
            )
    units = sorted(rows.get_column("unit").unique().drop_nulls().cast(pl.String).to_list())
    return rows, " and ".join(units) + (" (roster default)" if missing and units else "")


def _defaults(rows: pl.DataFrame, roster: Roster) -> pl.Series:
    """The unit that is usual for the athlete of each row; one for all rows where it is the same for all."""
    units = {a.id: a.unit for a in roster.athletes}
    if len(set(units.values())) == 1:
        return pl.Series("unit", [*units.values()][:1], dtype=UNIT)
    athlete = rows.get_column("athlete")
    names = athlete.dtype.categories  # type: ignore[attr-defined]
    return pl.Series([units[name] for name in names], dtype=UNIT)[athlete.to_physical()]
