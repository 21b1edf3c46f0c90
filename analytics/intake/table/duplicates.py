"""Duplicates: the same workout in two exports, counted once; a differing copy set aside, never lost."""

from __future__ import annotations

import polars as pl

SAME_SHARE = 0.5
"""Two files' sets of one day are one workout if at least this share of the shorter copy stands in both."""

_DAY = ["athlete", "date"]


def find_duplicates(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` with `copy`: null (counts), ``equal`` (also in a better copy) or ``differs`` (changed there).

    Sets are compared by exercise, load to a quarter of a kilogram (pounds are often rounded), reps, seconds
    and side, the k-th equal set of one file with the k-th of the other, so that equal rows inside one file
    stay sets. Of two copies of a day the one with more sets is kept, then the one from the file that
    reaches further in time, then the one whose file name comes last; exercises that only one of them has
    stay.
    """
    days = rows.group_by(_DAY).agg(pl.col("file").n_unique().alias("files")).filter(pl.col("files") > 1)
    plain = rows.with_columns(pl.lit(None, pl.String).alias("copy"))
    if not days.height:
        return plain
    shared = plain.with_row_index("id").join(days.select(_DAY), on=_DAY, how="semi")
    what = ["lift", "kg", "reps", "seconds", "side"]
    shared = shared.with_columns((pl.col("load_kg") * 4).round().alias("kg"))
    shared = shared.with_columns(pl.int_range(pl.len()).over([*_DAY, "file", *what]).alias("again"))
    key = [*_DAY, *what, "again"]
    sizes = shared.group_by([*_DAY, "file"]).agg(pl.len().alias("size"))
    pairs = (
        shared.select(*key, "file")
        .join(shared.select(*key, pl.col("file").alias("other")), on=key, nulls_equal=True)
        .filter(pl.col("file") != pl.col("other"))
        .group_by([*_DAY, "file", "other"])
        .agg(pl.len().alias("equal"))
        .join(sizes, on=[*_DAY, "file"])
        .join(sizes.rename({"file": "other", "size": "other_size"}), on=[*_DAY, "other"])
        .filter(pl.col("equal") >= SAME_SHARE * pl.min_horizontal("size", "other_size"))
    )
    rank = _ranks(rows)
    later = pl.col("other").replace_strict(rank) > pl.col("file").replace_strict(rank)
    better = (pl.col("other_size") > pl.col("size")) | ((pl.col("other_size") == pl.col("size")) & later)
    pairs = pairs.filter(better).select(*_DAY, "file", "other")
    if not pairs.height:
        return plain
    lesser = shared.select("id", "file", *key).join(pairs, on=[*_DAY, "file"])
    theirs = shared.select(*key, pl.col("file").alias("other"))
    equal = lesser.join(theirs, on=[*key, "other"], how="semi", nulls_equal=True).get_column("id").unique()
    lifts = theirs.select(*_DAY, "lift", "other").unique()
    changed = lesser.join(lifts, on=[*_DAY, "lift", "other"], how="semi").get_column("id").unique()
    order = pl.int_range(pl.len(), dtype=pl.UInt32)
    return plain.with_columns(
        pl.when(order.is_in(equal.implode()))
        .then(pl.lit("equal"))
        .when(order.is_in(changed.implode()))
        .then(pl.lit("differs"))
        .alias("copy")
    )


def _ranks(rows: pl.DataFrame) -> dict[int, int]:
    """Files in the order in which their copies are preferred, the best last."""
    lasts = rows.group_by("file").agg(pl.col("date").max()).sort("date", "file")
    return {file: i for i, file in enumerate(lasts.get_column("file").to_list())}
