"""Sets: typed rows of all files with exercises matched, loads in kg, and their place in the day."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import polars as pl

from analytics.catalogue import Catalogue, covering
from analytics.intake.cells.loads import HIGHEST_LOAD_KG
from analytics.intake.cells.naming import says_one_sided, split_name
from analytics.intake.lookup import Texts, codes_of
from analytics.intake.rows.marks import ROLE, SIDE
from analytics.intake.threads import side_by_side
from analytics.roster import Roster
from analytics.schema import KG_PER_LB

MOST_HELP_KG = 300
SAME_WEIGHT = 0.015
"""An added load this close to the day's bodyweight (as a share of it) is the bodyweight itself, typed in."""


@dataclass(frozen=True, kw_only=True)
class Names:
    """What the logged names mean: `as_logged`, `exercise`, `family` by the number in the column `name`.

    `catalogue`: the one they were matched to, with an exercise of its own for each lift logged with a place.
    """

    as_logged: tuple[str | None, ...]
    exercise: tuple[str | None, ...]
    family: tuple[str | None, ...]
    catalogue: Catalogue


def match_exercises(rows: pl.DataFrame, catalogue: Catalogue) -> tuple[pl.DataFrame, Names]:
    """(`rows` with the numbers `name` and `lift`, and `share, known, assisted` of the exercise; the names).

    Marks are taken out of a name first: ``Leg curl (left)`` sets the side, ``Bench press (warm-up)`` the
    role and ``A1. Row`` the superset.  Reps written as ``10/8`` are left and right only on a one-sided
    exercise.
    """
    names = Texts.of(rows.get_column("exercise"))
    marks = {name: split_name(name) for name in names.written}
    plain = sorted({mark.name for mark in marks.values()})
    catalogue = covering(catalogue, plain)
    matched = catalogue.match(plain)
    known = {
        row[0]: (row[1], row[2]) for row in matched.select("as_logged", "exercise", "family").iter_rows()
    }
    entries = {text: catalogue.exercises.get(known[mark.name][0]) for text, mark in marks.items()}
    number = {exercise: i for i, exercise in enumerate(sorted({pair[0] for pair in known.values()}))}
    said: dict[str, tuple[Callable[[str], object], pl.DataType, object]] = {
        "lift": (lambda text: number[known[marks[text].name][0]], pl.UInt32(), None),
        "share": (lambda text: _share(entries[text]), pl.Float64(), 0.0),
        "known": (lambda text: entries[text] is not None, pl.Boolean(), False),
        "assisted": (lambda text: "assisted" in known[marks[text].name][0].split("_"), pl.Boolean(), False),
    }
    found = side_by_side([partial(names.spread, *how) for how in said.values()], rows.height)
    columns = [column.alias(name) for name, column in zip(said, found, strict=True)]
    rows = rows.hstack([names.ids.alias("name"), *columns])
    words = rows.schema["superset"]
    for column, dtype in (("side", SIDE), ("role", ROLE), ("superset", words)):
        if any(getattr(mark, column) for mark in marks.values()):
            named = names.spread(lambda text, column=column: getattr(marks[text], column), pl.String())  # type: ignore[misc]
            rows = rows.with_columns(pl.coalesce(column, named.cast(dtype)).alias(column))
    if rows.get_column("two_sided").any():
        both = names.spread(lambda text: not _one_sided(text, entries[text]), pl.Boolean(), True)
        rows = rows.with_columns(
            pl.when(pl.col("two_sided") & both).then(None).otherwise("side").alias("side")
        )
    meant = [known[marks[text].name] for text in names.written]
    return rows.drop("exercise"), Names(
        as_logged=(None, *(marks[text].name for text in names.written)),
        exercise=(None, *(exercise for exercise, _ in meant)),
        family=(None, *(family for _, family in meant)),
        catalogue=catalogue,
    )


def _one_sided(name: str, entry: object) -> bool:
    return says_one_sided(name) or bool(entry is not None and entry.one_sided)  # type: ignore[attr-defined]


def _share(entry: object) -> float:
    return 0.0 if entry is None else float(entry.bodyweight_share)  # type: ignore[attr-defined]


def in_kg(rows: pl.DataFrame, checkins: pl.DataFrame, roster: Roster) -> pl.DataFrame:
    """`rows` with `load_kg`, `added_kg`, `moved`: whether bodyweight is part of the load, and `typed`:
    whether the added load is just the bodyweight of that day, which is moved anyway.

    Where the catalogue moves a share of bodyweight (pull-up 1, push-up 0.64), a plain number is added
    weight, a negative one assistance, and on an assisted machine every number is assistance; an exercise
    outside the catalogue counts the whole bodyweight where BW is written.  load_kg = share x bodyweight +
    added_kg, with the last bodyweight on or before the day, else the roster's; it is null where none is
    known.
    """
    kg = pl.col("value") * pl.when(pl.col("unit") == "lb").then(KG_PER_LB).otherwise(1.0)
    rows = rows.with_columns(
        kg.alias("load_kg"),
        pl.lit(None, pl.Float64).alias("added_kg"),
        (pl.col("bodyweight").fill_null(False) | (pl.col("share") > 0)).alias("moved"),
        pl.lit(False).alias("typed"),
    )
    if not rows.get_column("moved").any():
        return rows
    rows = rows.with_row_index("place")
    some = rows.filter("moved").select(
        "place", "athlete", "date", "load_kg", "share", "assisted", "bodyweight"
    )
    written = (
        pl.when(pl.col("assisted") & (pl.col("load_kg") > 0)).then(-pl.col("load_kg")).otherwise("load_kg")
    )
    share = pl.when(pl.col("share") > 0).then("share").otherwise(1.0)
    body = pl.col("bodyweight_kg")
    typed = (pl.col("added_kg") - body).abs() <= SAME_WEIGHT * body
    some = (
        _with_bodyweight(some, checkins, roster)
        .with_columns(written.fill_null(0.0).alias("added_kg"))
        .select(
            "place",
            "added_kg",
            (typed & ~pl.col("bodyweight").fill_null(False)).fill_null(False).alias("typed"),
            (share * body + pl.col("added_kg")).alias("total_kg"),
        )
    )
    rows = rows.drop("added_kg", "typed").join(some, on="place", how="left", maintain_order="left")
    return rows.with_columns(
        pl.when("moved").then("total_kg").otherwise("load_kg").alias("load_kg"),
        pl.col("typed").fill_null(False),
    ).drop("place", "total_kg")


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


def superset_labels(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` with ``A1`` and ``A2`` both called ``A``, if each label of the file is one exercise a day.

    Where one label stands for several exercises, it is the group's own name and stays.  A letter alone beside
    such labels, ``A, B1, B2``, only says the order.
    """
    labelled = rows.filter(pl.col("superset").is_not_null())
    if not labelled.height:
        return rows
    label = pl.col("superset").cast(pl.String).str.strip_chars()
    places = labelled.with_columns(label.alias("label")).group_by("file", "athlete", "date", "label")
    numbered = r"^[A-Za-z]\s?\d$"
    counts = (
        places.agg(pl.col("lift").n_unique().alias("lifts"))
        .group_by("file")
        .agg(pl.col("lifts").max(), pl.col("label").str.contains(numbered).any().alias("numbered"))
    )
    single = counts.filter(pl.col("lifts") == 1)
    ordered = single.filter("numbered").get_column("file")
    words = rows.schema["superset"]
    short = label.str.replace(r"^([A-Za-z])\s?\d$", "$1").str.to_uppercase()
    return rows.with_columns(
        pl.when(pl.col("file").is_in(single.get_column("file").implode()) & label.str.contains(numbered))
        .then(short.cast(words))
        .when(pl.col("file").is_in(ordered.implode()) & label.str.contains(r"^[A-Za-z]$"))
        .then(None)
        .otherwise("superset")
        .alias("superset")
    )


def text_columns(rows: pl.DataFrame, names: Names, files: tuple[str, ...]) -> dict[str, Texts]:
    """The texts of the set table, roles aside, for every row."""
    name, athlete, side = (rows.get_column(column) for column in ("name", "athlete", "side"))
    return {
        "athlete": Texts(pl.Series(codes_of(athlete)), _categories(athlete)),
        "exercise": Texts(name, names.exercise),
        "exercise_as_logged": Texts(name, names.as_logged),
        "family": Texts(name, names.family),
        "superset": Texts.of(rows.get_column("superset")),
        "side": _sides(side),
        "note": Texts.of(rows.get_column("note")),
        "source_file": Texts(rows.get_column("file"), files),
    }


def _sides(column: pl.Series) -> Texts:
    if column.null_count() == len(column):
        return Texts.blank(len(column))
    return Texts(column.to_physical(), _categories(column))


def _categories(column: pl.Series) -> tuple[str, ...]:
    return tuple(column.dtype.categories)  # type: ignore[attr-defined]
