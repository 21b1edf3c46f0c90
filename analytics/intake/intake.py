"""Intake: everything a roster folder holds, read once, as of one day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import polars as pl

from analytics.catalogue import Catalogue, load_catalogue
from analytics.errors import BadExport, BadRoster
from analytics.intake import ledger as account
from analytics.intake.checkins import aside_frame, read_checkins
from analytics.intake.duplicates import find_duplicates
from analytics.intake.export import Export, read_export
from analytics.intake.folder import Source, list_sources, read_bytes, read_text
from analytics.intake.header import FIELDS, MEASURE_NAMES, SET_NAMES, dictionary
from analytics.intake.plans import read_calendar, read_decisions
from analytics.intake.sets import (
    final_columns,
    in_kg,
    match_exercises,
    ordered,
    unfit,
    unknown_exercises,
    with_bodyweight,
)
from analytics.intake.suspect import mark_suspect
from analytics.roster import Roster, parse_roster
from analytics.schema import CHECKINS, SET_ASIDE, SETS, conform


@dataclass(frozen=True, kw_only=True)
class Intake:
    """A roster folder as tables (contracts in `analytics.schema`).

    `unknown_exercises`: one row per `athlete, exercise_as_logged` outside the catalogue, with its `sets`.
    `failures`: files refused whole, one message each; the other files went on.
    """

    roster: Roster
    catalogue: Catalogue
    sets: pl.DataFrame
    set_aside: pl.DataFrame
    ledger: pl.DataFrame
    checkins: pl.DataFrame
    calendar: pl.DataFrame
    decisions: pl.DataFrame
    unknown_exercises: pl.DataFrame
    failures: tuple[BadExport, ...]


def read_folder(folder: Path, as_of: date) -> Intake:
    """Everything in a roster folder up to and including `as_of`; rows dated later are set aside first.

    Raises BadRoster where the folder, `roster.toml` or `exercises.toml` cannot be used at all.
    """
    folder = Path(folder)
    text = read_text(folder, "roster.toml")
    if text is None:
        raise BadRoster(
            str(folder), "there is no roster.toml in it", "Write one, or run the demo verb for an example"
        )
    catalogue = load_catalogue(read_text(folder, "exercises.toml"))
    roster = parse_roster(text, "roster.toml", muscles=catalogue.muscles, fields=FIELDS)
    failures: list[BadExport] = []
    rows: list[pl.DataFrame] = []
    asides: list[pl.DataFrame] = []
    checkins = _read_checkins(folder, roster, as_of, failures, rows, asides)
    exports: list[Export] = []
    known = dictionary(SET_NAMES, roster.columns)
    for source in list_sources(folder, "exports", roster):
        raw = b""
        try:
            raw = read_bytes(source)
            exports.append(read_export(raw, source.name, source.athlete, roster, known))
        except BadExport as problem:
            failures.append(problem)
            rows.append(account.refused(source.name, source.athlete, _lines(raw), str(problem)))
    sets = _sets(exports, catalogue, roster, checkins, as_of, rows, asides)
    calendar, decisions = _plans(folder, roster, as_of, failures, rows, asides)
    aside = pl.concat(asides, how="diagonal_relaxed") if asides else SET_ASIDE.empty()
    return Intake(
        roster=roster,
        catalogue=catalogue,
        sets=sets,
        set_aside=conform(aside, SET_ASIDE),
        ledger=account.ledger_table(rows),
        checkins=checkins,
        calendar=calendar,
        decisions=decisions,
        unknown_exercises=unknown_exercises(sets, catalogue.exercises),
        failures=tuple(failures),
    )


def latest_week_end(sets: pl.DataFrame, today: date) -> date | None:
    """Sunday of the last ISO week that has data and ended on or before `today`; None without one."""
    ends = (
        sets.select((pl.col("date") + pl.duration(days=7 - pl.col("date").dt.weekday())).alias("end"))
        .filter(pl.col("end") <= today)
        .get_column("end")
    )
    last = ends.max()
    return last if isinstance(last, date) else None


def _lines(raw: bytes) -> int:
    return raw.count(b"\n") + (0 if not raw or raw.endswith(b"\n") else 1)


def _read_checkins(
    folder: Path,
    roster: Roster,
    as_of: date,
    failures: list[BadExport],
    rows: list[pl.DataFrame],
    asides: list[pl.DataFrame],
) -> pl.DataFrame:
    known = dictionary(MEASURE_NAMES, roster.columns)
    tables = [CHECKINS.empty()]
    for source in list_sources(folder, "checkins", roster):
        raw = b""
        try:
            raw = read_bytes(source)
            if source.athlete is None:
                raise BadExport(
                    source.name,
                    1,
                    "the file is named after no athlete of the roster",
                    "Name it <athlete id>.csv",
                )
            table, aside, records = read_checkins(
                raw, source.name, roster.athlete(source.athlete), known, as_of
            )
        except BadExport as problem:
            failures.append(problem)
            rows.append(account.refused(source.name, source.athlete, _lines(raw), str(problem)))
            continue
        tables.append(table)
        asides.append(aside)
    merged = pl.concat(tables).unique(
        ["athlete", "date", "measure", "side"], keep="last", maintain_order=True
    )
    return conform(merged, CHECKINS)


def _plans(
    folder: Path,
    roster: Roster,
    as_of: date,
    failures: list[BadExport],
    rows: list[pl.DataFrame],
    asides: list[pl.DataFrame],
) -> tuple[pl.DataFrame, pl.DataFrame]:
    tables = []
    for name, read in (("calendar.csv", read_calendar), ("decisions.csv", read_decisions)):
        path = folder / name
        raw = read_bytes(Source(path=path, name=name, athlete=None)) if path.is_file() else None
        try:
            table, aside = read(raw, name, roster, as_of)
            asides.append(aside)
        except BadExport as problem:
            failures.append(problem)
            rows.append(account.refused(name, None, _lines(raw or b""), str(problem)))
            table, _ = read(None, name, roster, as_of)
        tables.append(table)
    return tables[0], tables[1]


def _sets(
    exports: list[Export],
    catalogue: Catalogue,
    roster: Roster,
    checkins: pl.DataFrame,
    as_of: date,
    ledger_rows: list[pl.DataFrame],
    asides: list[pl.DataFrame],
) -> pl.DataFrame:
    if not exports:
        return SETS.empty()
    rows = pl.concat([e.rows.with_columns(pl.lit(i, pl.Int32).alias("file")) for i, e in enumerate(exports)])
    problems = pl.concat(
        [e.problems.with_columns(pl.lit(i, pl.Int32).alias("file")) for i, e in enumerate(exports)]
    )
    later = rows.filter(pl.col("date") > as_of)
    later_keys = later.select("file", "row", "part").unique()
    told = later_keys.select(
        "row",
        "part",
        pl.lit("date").alias("field"),
        pl.lit(None, pl.String).alias("cell"),
        pl.lit("later").alias("kind"),
        pl.lit("is after the date of this run").alias("reason"),
        pl.lit("Nothing to do: it counts from that date on").alias("cure"),
        "file",
    ).join(
        later.select("file", "row", pl.col("date").cast(pl.String).alias("day")).unique(["file", "row"]),
        on=["file", "row"],
        how="left",
    )
    told = told.with_columns(pl.col("day").alias("cell")).drop("day")
    problems = pl.concat(
        [problems.join(later_keys, on=["file", "row"], how="anti"), told.unique(["file", "row"])]
    )
    fit = rows.join(problems.select("file", "row").unique(), on=["file", "row"], how="anti")
    fit = in_kg(with_bodyweight(match_exercises(fit, catalogue), checkins, roster))
    for rule, field, kind, reason, cure in unfit(fit, as_of):
        bad = fit.filter(rule)
        if bad.height:
            written = pl.concat_str(
                [pl.col("value").cast(pl.String), pl.col("unit").cast(pl.String)],
                separator=" ",
                ignore_nulls=True,
            )
            problems = pl.concat(
                [
                    problems,
                    bad.select(
                        "row",
                        "part",
                        pl.lit(field).alias("field"),
                        (written if field == "load" else pl.lit(None, pl.String)).alias("cell"),
                        pl.lit(kind).alias("kind"),
                        reason.alias("reason"),
                        pl.lit(cure).alias("cure"),
                        "file",
                    ).unique(["file", "row", "part"], maintain_order=True),
                ]
            )
            fit = fit.join(bad.select("file", "row").unique(), on=["file", "row"], how="anti")
    fit = find_duplicates(fit)
    kept = fit.filter(pl.col("copy").is_null())
    used = kept.select("file", "row").unique()
    differing = fit.filter(pl.col("copy") == "differs").join(used, on=["file", "row"], how="anti")
    problems = pl.concat(
        [
            problems,
            differing.select(
                "row",
                "part",
                pl.lit("exercise").alias("field"),
                pl.col("exercise").alias("cell"),
                pl.lit("set").alias("kind"),
                pl.lit("differs from a better copy of the same workout in another file").alias("reason"),
                pl.lit("Delete the copy that is wrong").alias("cure"),
                "file",
            ).unique(["file", "row"], maintain_order=True),
        ]
    )
    aside_rows = problems.select("file", "row").unique()
    duplicate = (
        fit.filter(pl.col("copy") == "equal")
        .select("file", "row")
        .unique()
        .join(used, on=["file", "row"], how="anti")
        .join(aside_rows, on=["file", "row"], how="anti")
    )
    sets = _finished(kept)
    for i, export in enumerate(exports):
        counts = (
            export.records,
            used.filter(pl.col("file") == i).height,
            aside_rows.filter(pl.col("file") == i).height,
            duplicate.filter(pl.col("file") == i).height,
            kept.filter(pl.col("file") == i).height,
        )
        facts = (export.layout, export.encoding, export.delimiter, export.date_order, export.unit)
        ledger_rows.append(
            account.accepted(export.name, export.athlete, facts, counts, "; ".join(export.remarks) or None)
        )
    asides.append(_told(problems, exports, rows))
    return sets


def _finished(kept: pl.DataFrame) -> pl.DataFrame:
    table = final_columns(ordered(mark_suspect(kept)))
    try:
        from analytics.intake.roles import assign_roles  # type: ignore[import-not-found,unused-ignore]
    except ImportError:
        assign_roles = _all_working
    return conform(assign_roles(table), SETS)


def _all_working(sets: pl.DataFrame) -> pl.DataFrame:
    return sets.with_columns(pl.col("role").fill_null("working"), pl.col("role_source").fill_null("inferred"))


def _told(problems: pl.DataFrame, exports: list[Export], rows: pl.DataFrame) -> pl.DataFrame:
    """Problems as set-aside rows, with file names, athletes and the header text of the column."""
    who = rows.select("file", "row", "athlete").unique(["file", "row"], maintain_order=True)
    out = []
    for row in problems.join(who, on=["file", "row"], how="left").iter_rows(named=True):
        export = exports[row["file"]]
        header = (
            export.headers.get((row["field"], None))
            or export.headers.get((row["field"], row["part"]))
            or row["field"]
        )
        cell = row["cell"]
        out.append(
            (
                row["athlete"],
                export.name,
                row["row"],
                header.strip(),
                cell if cell is None else cell[:200],
                row["kind"],
                row["reason"],
                row["cure"],
            )
        )
    return aside_frame(out)
