"""Order: the place of every set in its day: session, position of the exercise, number of the set."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics.intake.lookup import codes_of, constant

SESSION_GAP_MINUTES = 120
"""A pause of more than two hours between logged times opens another session (own rule)."""


def ordered(rows: pl.DataFrame) -> pl.DataFrame:
    """`rows` with `session, position, set_number`, sorted by athlete, date and these two.

    Rows come in the order of files and lines.  Sessions of a day are told apart by their name, else by a
    pause of more than two hours between logged times.  Position is the order of first appearance in the
    session; sets follow their logged numbers where all of an exercise have one and the numbers do not begin
    again, else the order of the file.
    """
    day = _day_key(rows)
    rows = rows.hstack([day])
    timed = rows.get_column("minutes").null_count() < rows.height
    if timed:
        rows = rows.sort("day", pl.col("minutes").fill_null(-1), maintain_order=True)
    elif not day.is_sorted():
        rows = rows.sort("day", maintain_order=True)
    if not timed and rows.get_column("session").null_count() == rows.height:
        plain = _already(rows)
        if plain is not None:
            return plain
    rows = rows.with_columns(_session(rows, timed))
    runs, run_of_row = _runs(rows)
    rows = rows.with_columns(runs.get_column("position")[run_of_row])
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


def _already(rows: pl.DataFrame) -> pl.DataFrame | None:
    """As `ordered`, for rows (by day) that are in that order as they are: one session a day, no exercise
    taken up again, no set out of turn; else None.
    """
    day, lift = rows.get_column("day").to_numpy(), rows.get_column("lift").to_numpy()
    new_day = np.ones(len(day), dtype=bool)
    np.not_equal(day[1:], day[:-1], out=new_day[1:])
    fresh = new_day.copy()
    fresh[1:] |= lift[1:] != lift[:-1]
    starts = np.flatnonzero(fresh)
    together = np.sort(day[starts] * 2**20 + lift[starts])
    if (together[1:] == together[:-1]).any():
        return None
    numbers = rows.get_column("set_no")
    if numbers.null_count() < len(numbers):
        number = numbers.to_numpy()  # null is NaN, which is below nothing
        if ((number[1:] < number[:-1]) & ~fresh[1:]).any():
            return None
    sizes = np.diff(starts, append=len(day))
    run = np.arange(len(starts))
    opens = np.maximum.accumulate(np.where(new_day[starts], run, 0))
    return rows.hstack(
        [
            constant(1, len(day), pl.Int32()).alias("session_no"),
            pl.Series("position", np.repeat((run - opens + 1).astype(np.int32), sizes)),
            pl.Series("set_number", (np.arange(len(day)) - np.repeat(starts, sizes) + 1).astype(np.int32)),
        ]
    )


def _day_key(rows: pl.DataFrame) -> pl.Series:
    """Athlete (in order of id) and day as one number."""
    athlete, date = codes_of(rows.get_column("athlete")), rows.get_column("date").cast(pl.Int32).to_numpy()
    return pl.Series("day", athlete.astype(np.int64) * 200_000 + date + 60_000)


def _session(rows: pl.DataFrame, timed: bool) -> pl.Expr | pl.Series:
    """Number of the session within its day: by name on the days that have names, else by pauses."""
    by_pause: pl.Expr = pl.lit(1, pl.Int32)
    if timed:
        same = pl.col("day") == pl.col("day").shift()
        gap = (same & (pl.col("minutes") - pl.col("minutes").shift() > SESSION_GAP_MINUTES)).fill_null(False)
        by_pause = gap.cast(pl.Int32).cum_sum().over("day") + 1
    if rows.get_column("session").is_null().all():
        return by_pause.alias("session_no")
    names = rows.select("day", pl.col("session").to_physical().fill_null(2**32 - 1).alias("s"))
    first = names.unique(maintain_order=True, keep="first").with_columns(
        pl.int_range(1, pl.len() + 1, dtype=pl.Int32).over("day").alias("n")
    )
    by_name = names.join(first, on=["day", "s"], how="left", maintain_order="left").get_column("n")
    named = pl.col("session").is_not_null().any().over("day")
    return rows.select(pl.when(named).then(by_name).otherwise(by_pause).alias("session_no")).to_series()


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
    """Logged set numbers to sort by, where all sets of an exercise have one; None if none is out of order.

    Numbers that begin again at 1, as for the sets after the warm-ups, do not say which set came first: such
    an exercise stays in the order of the file.
    """
    number, group = pl.col("set_no"), ["day", "position"]
    # Sets of one exercise need not be neighbours: another exercise may stand between them.
    step = number.diff().over(group)
    if not rows.select((step < 0).any()).item():
        return None
    distinct = (number.n_unique() == pl.len()).over(group)
    from_one = (number.first() <= 1).over(group) & ~((step < 0) & (number > 1)).any().over(group)
    begins_again = from_one & ~distinct
    whole = number.is_not_null().all().over(group)
    return rows.select(pl.when(whole & ~begins_again).then(number).otherwise(0).alias("number")).to_series()
