"""Headlines: the three things about one athlete that matter this week, in words."""

from __future__ import annotations

import polars as pl

from analytics.review.advice import KINDS
from analytics.review.candidates import COUNTED
from analytics.schema import HEADLINES, conform

MOST = 3


def headlines(tables: dict[str, pl.DataFrame]) -> pl.DataFrame:
    """schema.HEADLINES: per athlete what a cut has kept, the most pressing entries, the surest progress.

    In a cut or peak holding strength is the aim, so progress is no headline there.  `names` among the tables
    gives the word that each athlete's page uses for an exercise, family or muscle group.
    """
    names = tables["names"]
    kind = pl.col("kind").replace_strict(KINDS, default=pl.col("kind"))
    chance = (pl.col("probability") * 100).round(0).cast(pl.Int32)
    counted = pl.format("{}: {}. {}", "word", kind, "evidence")
    of_lift = pl.col("subject_kind").is_in(["lift", "family"])
    lean = tables["cuts"]["athlete"].implode()
    meant = (
        pl.when(of_lift & pl.col("athlete").is_in(lean))
        .then(pl.lit("lost beyond what bodyweight explains"))
        .when(of_lift)
        .then(pl.lit("no progress"))
        .otherwise(pl.lit("behind the other groups"))
    )
    judged = (
        pl.when(pl.col("kind") == "doubtful")
        .then(pl.format("{}: {} ({} %). {}", "word", kind, chance, "evidence"))
        .otherwise(pl.format("{}: {} ({}: {} %). {}", "word", kind, meant, chance, "evidence"))
    )
    fault = pl.col("subject_kind") == "data"
    pressing = _worded(tables["attention"].filter("listed"), "subject", names).select(
        "athlete",
        order=pl.col("rank").cast(pl.Float64),
        kind=pl.when(fault).then(pl.lit("data")).otherwise(pl.lit("attention")),
        sentence=pl.when(pl.col("probability") == COUNTED).then(counted).otherwise(judged),
    )
    held = _worded(tables["cuts"], "weakest", names).select(
        "athlete",
        order=pl.lit(0.0),
        kind=pl.lit("cut"),
        sentence=pl.format(
            "{}, week {}: strength is held in {} of {} lifts, clearly lost in {}. Nearest to losing: {}.",
            pl.col("phase").str.to_titlecase(),
            "weeks",
            "held",
            "lifts",
            pl.when(pl.col("lost") == 0).then(pl.lit("none")).otherwise(pl.col("lost").cast(pl.String)),
            "word",
        ),
    )
    progressing = (
        tables["lifts"]
        .filter(pl.col("state") == "progressing")
        .join(tables["cuts"].select("athlete"), on="athlete", how="anti")
        .sort("p_progressing", "athlete", "exercise", descending=[True, False, False])
    )
    good = _worded(progressing, "exercise", names).select(
        "athlete",
        order=1e9 + pl.int_range(pl.len()).cast(pl.Float64),
        kind=pl.lit("good_news"),
        sentence=pl.format("{} is progressing. {}", "word", "why"),
    )
    ranked = (
        pl.concat([held, pressing, good])
        .sort("athlete", "order")
        .with_columns(rank=pl.int_range(1, pl.len() + 1).over("athlete"))
        .filter(pl.col("rank") <= MOST)
    )
    return conform(ranked, HEADLINES)


def _worded(frame: pl.DataFrame, column: str, names: pl.DataFrame) -> pl.DataFrame:
    """The frame with the `word` for the id in `column`, as each athlete's own log spells it."""
    words = names.select("athlete", pl.col("id").alias(column), word="name")
    found = frame.join(words, on=["athlete", column], how="left", maintain_order="left")
    return found.with_columns(pl.col("word").fill_null(pl.col(column)))
