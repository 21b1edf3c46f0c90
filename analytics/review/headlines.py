"""Headlines: the three things about one athlete that matter this week, in words."""

from __future__ import annotations

import polars as pl

from analytics.review.advice import KINDS
from analytics.review.candidates import COUNTED
from analytics.schema import HEADLINES, conform

MOST = 3


def headlines(tables: dict[str, pl.DataFrame], names: dict[str, str]) -> pl.DataFrame:
    """schema.HEADLINES: per athlete what a cut has kept, the most pressing entries, the surest progress.

    In a cut or peak holding strength is the aim, so progress is no headline there.

    `names` gives the word a page uses for an exercise, family or muscle group.
    """
    subject = pl.col("subject").replace_strict(names, default=pl.col("subject"))
    kind = pl.col("kind").replace_strict(KINDS, default=pl.col("kind"))
    chance = (pl.col("probability") * 100).round(0).cast(pl.Int32)
    fact = pl.col("probability") == COUNTED
    pressing = (
        tables["attention"]
        .filter("listed")
        .select(
            "athlete",
            order=pl.col("rank").cast(pl.Float64),
            kind=pl.when(pl.col("subject_kind") == "data")
            .then(pl.lit("data"))
            .otherwise(pl.lit("attention")),
            sentence=pl.when(fact)
            .then(pl.format("{}: {}. {}", subject, kind, "evidence"))
            .otherwise(pl.format("{}: {} (probability {} %). {}", subject, kind, chance, "evidence")),
        )
    )
    weakest = pl.col("weakest").replace_strict(names, default=pl.col("weakest"))
    lean = tables["cuts"].select(
        "athlete",
        order=pl.lit(0.0),
        kind=pl.lit("cut"),
        sentence=pl.format(
            "{}, week {}: strength is held in {} of {} lifts, clearly lost in {}. Weakest: {}.",
            pl.col("phase").str.to_titlecase(),
            "weeks",
            "held",
            "lifts",
            "lost",
            weakest,
        ),
    )
    name = pl.col("exercise").replace_strict(names, default=pl.col("exercise"))
    good = (
        tables["lifts"]
        .filter(pl.col("state") == "progressing")
        .join(tables["cuts"].select("athlete"), on="athlete", how="anti")
        .sort("p_progressing", "athlete", "exercise", descending=[True, False, False])
        .select(
            "athlete",
            order=1e9 + pl.int_range(pl.len()).cast(pl.Float64),
            kind=pl.lit("good_news"),
            sentence=pl.format("{} is progressing. {}", name, "why"),
        )
    )
    ranked = (
        pl.concat([lean, pressing, good])
        .sort("athlete", "order")
        .with_columns(rank=pl.int_range(1, pl.len() + 1).over("athlete"))
        .filter(pl.col("rank") <= MOST)
    )
    return conform(ranked, HEADLINES)
