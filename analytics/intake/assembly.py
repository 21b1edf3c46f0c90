"""Assembly: the rows of all exports to one set table, with an account of every source row."""

from __future__ import annotations

from dataclasses import dataclass, replace

import polars as pl

from analytics.catalogue import Catalogue
from analytics.intake import ledger as account
from analytics.intake.export import Context, Export
from analytics.intake.lookup import Texts, among
from analytics.intake.rows.problems import Problems
from analytics.intake.table.duplicates import find_duplicates
from analytics.intake.table.setlog import SetLog
from analytics.intake.table.sets import Names, in_kg, match_exercises, superset_labels, unfit

_DIFFERS = "differs from a better copy of the same workout in another file"


@dataclass(frozen=True, kw_only=True)
class Assembled:
    """The sets that count, the problems of each export, and its ledger row."""

    log: SetLog
    unknown: pl.DataFrame
    set_aside: list[pl.DataFrame]
    ledger: list[pl.DataFrame]


def assemble(
    exports: list[Export], catalogue: Catalogue, checkins: pl.DataFrame, context: Context
) -> Assembled:
    """The sets of all exports.

    A source row counts once in the ledger: used if one of its sets is in the table, else set aside, else
    duplicate, else not a set.
    """
    if not exports:
        nothing = pl.DataFrame(schema={"athlete": context.athletes})
        log = SetLog(
            rows=nothing, names=Names(as_logged=(), exercise=(), family=(), catalogue=catalogue), files=()
        )
        return Assembled(log=log, unknown=_no_unknown(), set_aside=[], ledger=[])
    rows = pl.concat([e.rows.with_columns(pl.lit(i, pl.Int32).alias("file")) for i, e in enumerate(exports)])
    problems = [[e.problems] for e in exports]
    for i, export in enumerate(exports):
        # Five million rows fit in memory once, not twice.
        exports[i] = replace(export, rows=export.rows.clear())
    rows, names = match_exercises(rows, catalogue)
    rows = in_kg(rows, checkins, context.roster).drop(
        "value", "unit", "bodyweight", "share", "assisted", "two_sided"
    )
    for rule, reason, cure in unfit():
        bad = rows.filter(rule)
        if bad.height:
            _tell(problems, exports, bad.with_columns(reason.alias("reason")), "load", "load", cure)
            rows = rows.join(
                bad.select("file", "row").unique(), on=["file", "row"], how="anti", maintain_order="left"
            )
    rows = superset_labels(rows)
    copies = None
    if len(exports) > 1:
        marked = find_duplicates(rows)
        rows = marked.filter(pl.col("copy").is_null()).drop("copy")
        copies = marked.filter(pl.col("copy").is_not_null())
        differing = copies.filter(pl.col("copy") == "differs").join(
            rows.select("file", "row"), on=["file", "row"], how="anti", maintain_order="left"
        )
        told = differing.unique(["file", "row"], keep="first", maintain_order=True)
        _tell(
            problems,
            exports,
            told.with_columns(pl.lit(_DIFFERS).alias("reason")),
            "exercise",
            "set",
            "Delete the wrong copy",
        )
    tables = [pl.concat(told) for told in problems]
    ledger = _ledger(exports, rows, copies, tables)
    aside = [
        _aside(export, table, context) for export, table in zip(exports, tables, strict=True) if table.height
    ]
    log = SetLog(rows=rows, names=names, files=tuple(export.name for export in exports))
    return Assembled(log=log, unknown=_unknown(rows, names), set_aside=aside, ledger=ledger)


def _unknown(rows: pl.DataFrame, names: Names) -> pl.DataFrame:
    """Names outside the catalogue: one row per athlete and name, with the number of sets."""
    counted = (
        rows.filter(~pl.col("known")).group_by("athlete", "name").agg(pl.len().cast(pl.Int32).alias("sets"))
    )
    logged = Texts(counted.get_column("name"), names.as_logged).cells()
    return (
        counted.select(pl.col("athlete").cast(pl.String), logged.alias("exercise_as_logged"), "sets")
        .group_by("athlete", "exercise_as_logged")
        .agg(pl.col("sets").sum())
        .sort("athlete", "exercise_as_logged")
    )


def _no_unknown() -> pl.DataFrame:
    return pl.DataFrame(schema={"athlete": pl.String, "exercise_as_logged": pl.String, "sets": pl.Int32})


def _tell(
    problems: list[list[pl.DataFrame]],
    exports: list[Export],
    bad: pl.DataFrame,
    field: str,
    kind: str,
    cure: str,
) -> None:
    """Add one problem for each place of the sheet in `bad` (columns `file, at, reason`)."""
    for (file,), part in bad.group_by("file", maintain_order=True):
        export = exports[int(str(file))]
        name = (
            field if field in export.sheet.fields else "added" if "added" in export.sheet.fields else "work"
        )
        at = part.unique("at", keep="first", maintain_order=True).sort("at")
        mask = pl.repeat(False, export.sheet.row.len(), dtype=pl.Boolean, eager=True)
        mask = mask.scatter(at.get_column("at"), True)
        told = Problems(export.sheet)
        told.rows(mask, name if field == "load" else field, kind, at.get_column("reason"), cure)
        problems[int(str(file))].append(told.table())


def _ledger(
    exports: list[Export], rows: pl.DataFrame, copies: pl.DataFrame | None, tables: list[pl.DataFrame]
) -> list[pl.DataFrame]:
    lines = rows.group_by("file").agg(pl.len().alias("sets"), pl.col("row").n_unique().alias("used"))
    found = {row[0]: (row[1], row[2]) for row in lines.iter_rows()}
    duplicate = {} if copies is None or copies.is_empty() else _duplicates(rows, copies, tables)
    result = []
    for i, export in enumerate(exports):
        sets, used = found.get(i, (0, 0))
        aside = tables[i].get_column("row").n_unique() if tables[i].height else 0
        facts = (export.layout, export.encoding, export.delimiter, export.date_order, export.unit)
        counts = (export.records, used, aside, duplicate.get(i, 0), sets)
        remark = "; ".join(export.sheet.remarks) or None
        result.append(account.accepted(export.name, export.athlete, facts, counts, remark))
    return result


def _duplicates(rows: pl.DataFrame, copies: pl.DataFrame, tables: list[pl.DataFrame]) -> dict[int, int]:
    """How many records of each file only stand in a better copy, and are neither used nor set aside."""
    line = ["file", "row"]
    told = [table.select(pl.lit(i, pl.Int32).alias("file"), "row") for i, table in enumerate(tables)]
    used = rows.select(line).filter(pl.col("file").is_in(copies.get_column("file").unique().implode()))
    lone = copies.select(line).unique().join(pl.concat([*told, used]), on=line, how="anti")
    return dict(lone.group_by("file").len().iter_rows())


def _aside(export: Export, table: pl.DataFrame, context: Context) -> pl.DataFrame:
    """The problems of one export as rows of the set-aside table."""
    if export.athlete is not None:
        owned = table.with_columns(athlete=pl.lit(export.athlete))
    else:
        ids = context.roster.ids
        told = among(export.sheet.row, table.get_column("row"))
        who = (
            export.sheet.fields["athlete"].take(told).spread(lambda text: ids.get(text.lower()), pl.String())
        )
        owners = pl.DataFrame({"row": export.sheet.row.filter(told), "athlete": who})
        owners = owners.unique("row", keep="first", maintain_order=True)
        owned = table.join(owners, on="row", how="left", maintain_order="left")
    return owned.select(
        "athlete",
        pl.lit(export.name).alias("source_file"),
        pl.col("row").alias("source_row"),
        "column",
        "cell",
        "kind",
        "reason",
        "cure",
    )
