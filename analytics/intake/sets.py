"""Sets: typed rows of all files with exercises matched, loads in kg, and their place in the day."""

from __future__ import annotations

from dataclasses import dataclass

import polars as pl

from analytics.catalogue import Catalogue
from analytics.intake.lookup import Texts
from analytics.intake.marks import ROLE, SIDE
from analytics.intake.naming import split_name
from analytics.roster import Roster
from analytics.schema import KG_PER_LB

HIGHEST_LOAD_KG = 1000
MOST_HELP_KG = 300
SESSION_GAP_MINUTES = 120
"""A pause of more than two hours between logged times opens another session (own rule)."""


@dataclass(frozen=True, kw_only=True)
class Names:
    """What the logged names mean, by the number in the column `name`: `as_logged, exercise, family`, 0 for none."""

    table: pl.DataFrame

    def column(self, column: str, name: pl.Series) -> pl.Series:
        """One of the three for every row."""
        return self.table.get_column(column).gather(name)


def match_exercises(rows: pl.DataFrame, catalogue: Catalogue) -> tuple[pl.DataFrame, Names]:
    """(`rows` with the numbers `name` and `lift`, and `share, known, assisted` of the exercise; the names).

    Marks are taken out of a name first: ``Leg curl (left)`` sets the side, ``Bench press (warm-up)`` the role and
    ``A1. Row`` the superset.  Reps written as ``10/8`` are left and right only on a one-sided exercise.
    """
    names = Texts.of(rows.get_column("exercise"))
    marks = {name: split_name(name) for name in names.written}
    found = catalogue.match(sorted({mark.name for mark in marks.values()}))
    known = {row[0]: (row[1], row[2]) for row in found.select("as_logged", "exercise", "family").iter_rows()}
    entries = {text: catalogue.exercises.get(known[mark.name][0]) for text, mark in marks.items()}
    number = {exercise: i for i, exercise in enumerate(sorted({pair[0] for pair in known.values()}))}
    rows = rows.with_columns(
        names.ids.alias("name"),
        names.spread(lambda text: number[known[marks[text].name][0]], pl.UInt32()).alias("lift"),
        names.spread(lambda text: _share(entries[text]), pl.Float64(), 0.0).alias("share"),
        names.spread(lambda text: entries[text] is not None, pl.Boolean(), False).alias("known"),
        names.spread(
            lambda text: "assisted" in known[marks[text].name][0].split("_"), pl.Boolean(), False
        ).alias("assisted"),
    )
    words = rows.schema["superset"]
    for column, dtype in (("side", SIDE), ("role", ROLE), ("superset", words)):
        if any(getattr(mark, column) for mark in marks.values()):
            named = names.spread(lambda text, column=column: getattr(marks[text], column), pl.String())  # type: ignore[misc]
            rows = rows.with_columns(pl.coalesce(column, named.cast(dtype)).alias(column))
    if rows.get_column("two_sided").any():
        both = names.spread(lambda text: not (entries[text] and entries[text].one_sided), pl.Boolean(), True)  # type: ignore[union-attr]
        rows = rows.with_columns(
            pl.when(pl.col("two_sided") & both).then(None).otherwise("side").alias("side")
        )
    meant = [(marks[text].name, *known[marks[text].name]) for text in names.written]
    schema = {"as_logged": pl.String, "exercise": pl.String, "family": pl.String}
    table = pl.DataFrame([(None, None, None), *meant], schema=schema, orient="row")
    return rows.drop("exercise"), Names(table=table)


def _share(entry: object) -> float:
    return 0.0 if entry is None else float(entry.bodyweight_share)  # type: ignore[attr-defined]


def in_kg(rows: pl.DataFrame, checkins: pl.DataFrame, roster: Roster) -> pl.DataFrame:
    """`rows` with `load_kg`, `added_kg`, and `moved`: whether bodyweight is part of the load.

    Where the catalogue moves a share of bodyweight (pull-up 1, push-up 0.64), a plain number is added weight,
    a negative one assistance, and on an assisted machine every number is assistance; an exercise outside
    the catalogue counts the whole bodyweight where BW is written.  load_kg = share x bodyweight + added_kg, with
    the last bodyweight on or before the day, else the roster's; it is null where none is known.
    """
    kg = pl.col("value") * pl.when(pl.col("unit") == "lb").then(KG_PER_LB).otherwise(1.0)
    rows = rows.with_columns(
        kg.alias("load_kg"),
        pl.lit(None, pl.Float64).alias("added_kg"),
        (pl.col("bodyweight").fill_null(False) | (pl.col("share") > 0)).alias("moved"),
    )
    if not rows.get_column("moved").any():
        return rows
    rows = rows.with_row_index("place")
    some = rows.filter("moved").select("place", "athlete", "date", "load_kg", "share", "assisted")
    written = (
        pl.when(pl.col("assisted") & (pl.col("load_kg") > 0)).then(-pl.col("load_kg")).otherwise("load_kg")
    )
    share = pl.when(pl.col("share") > 0).then("share").otherwise(1.0)
    some = (
        _with_bodyweight(some, checkins, roster)
        .with_columns(written.fill_null(0.0).alias("added_kg"))
        .select("place", "added_kg", (share * pl.col("bodyweight_kg") + pl.col("added_kg")).alias("total_kg"))
    )
    rows = rows.drop("added_kg").join(some, on="place", how="left", maintain_order="left")
    return rows.with_columns(pl.when("moved").then("total_kg").otherwise("load_kg").alias("load_kg")).drop(
        "place", "total_kg"
    )


def _with_bodyweight(rows: pl.DataFrame, checkins: pl.DataFrame, roster: Roster) -> pl.DataFrame:
    weights = (
        checkins.filter(pl.col("measure") == "bodyweight")
        .select(
            pl.col("athlete").cast(rows.schema["athlete"]), "date", pl.col("value").alias("bodyweight_kg")
        )
        .sort("date")
    )
    joined = rows.sort("date", maintain_order=True).join_asof(
        weights, on="date", by="athlete", strategy="backward", check_sortedness=False
    )
    defaults = {a.id: a.bodyweight_kg for a in roster.athletes}
    default = pl.col("athlete").cast(pl.String).replace_strict(defaults, return_dtype=pl.Float64)
    return joined.with_columns(pl.coalesce("bodyweight_kg", default).alias("bodyweight_kg"))


def unfit() -> list[tuple[pl.Expr, pl.Expr, str]]:
    """What keeps a row's load out: (rule, reason, cure), in the order they are told."""
    kg = pl.col("load_kg").round(1).cast(pl.String)
    return [
        (
            pl.col("moved") & pl.col("load_kg").is_null(),
            pl.lit("needs the bodyweight of that day, and none is known"),
            "Add a check-in on or before that day, or bodyweight_kg in roster.toml",
        ),
        (
            pl.col("moved") & (pl.col("added_kg") < -MOST_HELP_KG),
            pl.lit(f"is more help than {MOST_HELP_KG} kg"),
            "Write the load that was moved",
        ),
        (pl.col("load_kg") < 0, pl.lit("is below zero"), "Write the load that was moved"),
        (
            pl.col("load_kg") > HIGHEST_LOAD_KG,
            pl.lit("is ") + kg + pl.lit(f" kg, above {HIGHEST_LOAD_KG} kg"),
            "Write the load that was moved",
        ),
    ]


def ordered(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` with `session, position, set_number`, sorted by athlete, date and these two.

    Rows come in the order of files and lines.  Sessions of a day are told apart by their name, else by a
    pause of more than two hours between logged times.  Position is the order of first appearance in the
    session; sets follow their logged numbers where all of an exercise have one, else the order of the file.
    """
    rows = rows.with_columns(_day_key())
    timed = rows.get_column("minutes").is_not_null().any()
    day = rows.get_column("day")
    if timed:
        rows = rows.sort("day", pl.col("minutes").fill_null(-1), maintain_order=True)
    elif not day.is_sorted():
        rows = rows.sort("day", maintain_order=True)
    rows = rows.with_columns(_session(rows, timed))
    runs, run_of_row = _runs(rows)
    rows = rows.with_columns(runs.get_column("position").gather(run_of_row))
    number = _numbers(rows)
    key = rows.select((pl.col("day") * 4096 + pl.col("position")).alias("k")).get_column("k")
    if number is not None:
        rows = rows.with_columns(key, number).sort("k", "number", maintain_order=True).drop("k", "number")
    elif not key.is_sorted():
        rows = rows.with_columns(key).sort("k", maintain_order=True).drop("k")
    place = pl.int_range(pl.len(), dtype=pl.Int32)
    first = (pl.col("day") != pl.col("day").shift()) | (pl.col("position") != pl.col("position").shift())
    start = pl.when(first.fill_null(True)).then(place).forward_fill()
    return rows.with_columns((place - start + 1).alias("set_number"))


def _day_key() -> pl.Expr:
    """Athlete (in order of id) and day as one number."""
    return (
        pl.col("athlete").to_physical().cast(pl.Int64) * 200_000 + pl.col("date").to_physical() + 60_000
    ).alias("day")


def _session(rows: pl.DataFrame, timed: bool) -> pl.Expr | pl.Series:
    """Number of the session within its day."""
    if rows.get_column("session").is_not_null().any():
        names = rows.select("day", pl.col("session").to_physical().fill_null(2**32 - 1).alias("s"))
        first = names.unique(maintain_order=True, keep="first").with_columns(
            pl.int_range(1, pl.len() + 1, dtype=pl.Int32).over("day").alias("n")
        )
        return (
            names.join(first, on=["day", "s"], how="left", maintain_order="left")
            .get_column("n")
            .alias("session_no")
        )
    if timed:
        same = pl.col("day") == pl.col("day").shift()
        gap = (same & (pl.col("minutes") - pl.col("minutes").shift() > SESSION_GAP_MINUTES)).fill_null(False)
        return (gap.cast(pl.Int32).cum_sum().over("day") + 1).alias("session_no")
    return pl.lit(1, pl.Int32).alias("session_no")


def _runs(rows: pl.DataFrame) -> tuple[pl.DataFrame, pl.Series]:
    """(neighbouring rows of one exercise as runs with their `position`, number of the run of each row)."""
    key = ["day", "session_no", "lift"]
    changed = pl.any_horizontal(pl.col(name) != pl.col(name).shift() for name in key).fill_null(True)
    starts = rows.select(changed.alias("c")).get_column("c")
    runs = rows.select(key).filter(starts).with_row_index("run")
    run_of_row = (starts.cast(pl.UInt32).cum_sum() - 1).cast(pl.UInt32)
    together = pl.col("day") * 2**20 + pl.col("lift")
    if runs.select((pl.col("session_no").max() == 1) & (together.n_unique() == pl.len())).item():
        # No exercise was left and taken up again, so the runs of a day number its exercises.
        opens = (pl.col("day") != pl.col("day").shift()).fill_null(True)
        start = pl.when(opens).then("run").forward_fill()
        return runs.with_columns((pl.col("run") - start + 1).cast(pl.Int32).alias("position")), run_of_row
    first = runs.group_by(key, maintain_order=True).agg(pl.col("run").first())
    first = first.sort("day", "session_no", "run").with_columns(
        pl.int_range(1, pl.len() + 1, dtype=pl.Int32).over("day").alias("position")
    )
    runs = runs.join(first.drop("run"), on=key, how="left", maintain_order="left")
    return runs, run_of_row


def _numbers(rows: pl.DataFrame) -> pl.Series | None:
    """Logged set numbers to sort by, where every set of an exercise has one; None where none is out of order."""
    if rows.get_column("set_no").is_null().all():
        return None
    group = ["day", "position"]
    same = (pl.col("day") == pl.col("day").shift()) & (pl.col("position") == pl.col("position").shift())
    falls = rows.select((same & (pl.col("set_no") < pl.col("set_no").shift())).any()).item()
    if not falls:
        return None
    whole = pl.col("set_no").is_not_null().all().over(group)
    return rows.select(pl.when(whole).then("set_no").otherwise(0).alias("number")).get_column("number")


def superset_labels(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` with ``A1`` and ``A2`` of a file both called ``A``, if each label of the file stands for one exercise a day.

    Where one label stands for several exercises, it is the group's own name and stays.
    """
    labelled = rows.filter(pl.col("superset").is_not_null())
    if not labelled.height:
        return rows
    label = pl.col("superset").cast(pl.String).str.strip_chars()
    places = labelled.with_columns(label.alias("label")).group_by("file", "athlete", "date", "label")
    counts = places.agg(pl.col("lift").n_unique().alias("lifts")).group_by("file").agg(pl.col("lifts").max())
    single = counts.filter(pl.col("lifts") == 1).get_column("file")
    words = rows.schema["superset"]
    short = label.str.replace(r"^([A-Za-z])\s?\d$", "$1").str.to_uppercase()
    return rows.with_columns(
        pl.when(pl.col("file").is_in(single.implode()) & label.str.contains(r"^[A-Za-z]\s?\d$"))
        .then(short.cast(words))
        .otherwise("superset")
        .alias("superset")
    )


def final_columns(rows: pl.DataFrame, names: Names, files: list[str]) -> pl.DataFrame:
    """`rows` under the names of the set table, in its order."""
    text = pl.String
    name = rows.get_column("name")
    return rows.select(
        pl.col("athlete").cast(text),
        "date",
        pl.col("session_no").alias("session"),
        "position",
        "set_number",
        names.column("exercise", name).alias("exercise"),
        names.column("as_logged", name).alias("exercise_as_logged"),
        names.column("family", name).alias("family"),
        pl.col("role").cast(text),
        pl.col("role_source").cast(text),
        "chain",
        pl.col("superset").cast(text),
        pl.col("side").cast(text),
        "load_kg",
        "added_kg",
        "implements",
        "reps",
        "seconds",
        "rir",
        "rest_s",
        "suspect",
        pl.col("note").cast(text),
        pl.Series(files, dtype=text).gather(rows.get_column("file")).alias("source_file"),
        pl.col("row").alias("source_row"),
    )
