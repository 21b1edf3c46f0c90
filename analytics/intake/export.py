"""Export: one file's bytes to typed rows of known athletes, with the account of every record."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from analytics.errors import BadExport
from analytics.intake.grid import read_grid
from analytics.intake.layout import read_layout
from analytics.intake.plain import plain
from analytics.intake.rows import PROBLEMS, ROWS, Read, read_rows
from analytics.intake.text import decode
from analytics.roster import Roster


@dataclass(frozen=True, kw_only=True)
class Export:
    """One file read: typed `rows` (all of them), `problems`, and what the ledger says about it."""

    name: str
    athlete: str | None
    rows: pl.DataFrame
    problems: pl.DataFrame
    headers: Mapping[tuple[str, int | None], str]
    records: int
    layout: str
    encoding: str
    delimiter: str
    date_order: str
    unit: str
    remarks: tuple[str, ...]


def read_export(
    raw: bytes, name: str, athlete: str | None, roster: Roster, known: Mapping[str, str]
) -> Export:
    """One export.  Raises BadExport where the file as a whole cannot be understood."""
    text = decode(raw, name)
    grid = read_grid(text, name, pl.Categories.random())
    sheet = read_layout(grid, known, name)
    if athlete is None and "athlete" not in sheet.fields.columns:
        raise BadExport(
            name,
            1,
            "nothing says whose log this is",
            "Put it into exports/<athlete id>/, or add a column with the athlete's id",
        )
    order = _shared(roster, athlete, "date_order")
    read = read_rows(sheet, name, date_order=order, delimiter=grid.delimiter)
    rows, strangers = _with_athlete(read, athlete, roster, name)
    rows, unit = _with_unit(rows, sheet.units.get("load") or sheet.units.get("work"), roster, name)
    rows = rows.filter(
        pl.any_horizontal(pl.col("value", "reps", "seconds").is_not_null())
        | pl.col("row").is_in(read.problems.get_column("row").implode())
    )
    return Export(
        name=name,
        athlete=athlete,
        rows=rows.with_columns(pl.lit(name).alias("source_file")),
        problems=pl.concat([read.problems, strangers]),
        headers=sheet.headers,
        records=grid.cells.height,
        layout=read.layout,
        encoding=grid.encoding,
        delimiter=grid.delimiter,
        date_order=read.date_order,
        unit=unit,
        remarks=sheet.remarks,
    )


def _shared(roster: Roster, athlete: str | None, key: str) -> str | None:
    """The default of one athlete; of all of them, where they agree, for a file with an athlete column."""
    if athlete is not None:
        return getattr(roster.athlete(athlete), key)
    values = {getattr(a, key) for a in roster.athletes}
    return values.pop() if len(values) == 1 else None


def _with_athlete(
    read: Read, athlete: str | None, roster: Roster, name: str
) -> tuple[pl.DataFrame, pl.DataFrame]:
    rows = read.rows
    ids = {plain(a.name): a.id for a in roster.athletes} | {plain(a.id): a.id for a in roster.athletes}
    written = rows.get_column("athlete").unique().drop_nulls().to_list()
    found = {text: ids.get(plain(text)) for text in written}
    nobody = pl.DataFrame(schema=PROBLEMS)
    if athlete is not None:
        others = [text for text, who in found.items() if who not in (None, athlete)]
        wrong = rows.filter(pl.col("athlete").is_in(others))
        strangers = (
            _problem(
                wrong,
                f"belongs to another athlete, and the file stands with {athlete}",
                "Move the row to the other athlete's export",
            )
            if others
            else nobody
        )
        return rows.with_columns(pl.lit(athlete).alias("athlete")), strangers
    if written and not any(found.values()):
        raise BadExport(
            name,
            int(rows["row"][0]),
            f"no athlete of the roster is named in it (found {written[0][:40]!r})",
            "Write the athlete's id or name as in roster.toml",
        )
    strange = rows.filter(
        pl.col("athlete").replace_strict(found, default=None, return_dtype=pl.String).is_null()
    )
    strangers = _problem(
        strange, "is not an athlete of the roster", "Write the athlete's id or name as in roster.toml"
    )
    rows = rows.with_columns(pl.col("athlete").replace_strict(found, default=None, return_dtype=pl.String))
    return rows, strangers


def _problem(rows: pl.DataFrame, reason: str, cure: str) -> pl.DataFrame:
    return rows.select(
        "row",
        "part",
        pl.lit("athlete").alias("field"),
        pl.col("athlete").alias("cell"),
        pl.lit("athlete").alias("kind"),
        pl.lit(reason).alias("reason"),
        pl.lit(cure).alias("cure"),
    ).unique(["row", "part"], maintain_order=True)


def _with_unit(rows: pl.DataFrame, header: str | None, roster: Roster, name: str) -> tuple[pl.DataFrame, str]:
    """Rows whose loads all have a unit: cell, unit column, header, then the athlete's default.

    Raises BadExport where a load is left without one.
    """
    unit_type = ROWS["unit"]
    if header in ("kg", "lb"):
        rows = rows.with_columns(pl.coalesce("unit", pl.lit(header, unit_type)).alias("unit"))
    defaults = {a.id: a.unit for a in roster.athletes}
    lacking = pl.col("unit").is_null() & (pl.col("value") != 0)
    missing = rows.select(lacking.any()).item()
    if missing:
        default = (
            pl.col("athlete").replace_strict(defaults, default=None, return_dtype=pl.String).cast(unit_type)
        )
        rows = rows.with_columns(pl.coalesce("unit", default).alias("unit"))
        still = rows.filter(lacking & pl.col("athlete").is_not_null())
        if still.height:
            raise BadExport(
                name,
                int(still["row"][0]),
                "nothing says whether the loads are kg or lb",
                'Write the unit into the header, such as "Weight (kg)", or set unit in roster.toml',
            )
    units = sorted(rows.get_column("unit").unique().drop_nulls().cast(pl.String).to_list())
    return rows, " and ".join(units) + (" (roster default)" if missing and units else "")
