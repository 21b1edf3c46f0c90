"""Set table: the simulated sets of a batch of athletes as rows of ``schema.SETS`` with true roles."""

from __future__ import annotations

import numpy as np
import polars as pl

from analytics import schema
from analytics.simulate.athletes import Batch
from analytics.simulate.sets import FlatSets


def set_table(batch: Batch, flat: FlatSets) -> pl.DataFrame:
    """The sets of the batch in the order of the log, one row per set and logged side."""
    stock, plan, visits = batch.stock, batch.plan, batch.visits
    at = (flat.athlete, flat.slot, flat.visit)
    exercise = visits.exercise[at]
    split_sides = stock.one_sided[exercise] & plan.logs_sides[flat.athlete]
    copies = np.where(split_sides, 2, 1)
    row = np.repeat(np.arange(len(exercise)), copies)
    side = np.zeros(len(row), np.int8)
    starts = np.cumsum(copies) - copies
    side[starts[split_sides]] = 1
    side[starts[split_sides] + 1] = 2
    weaker = (side == 1) & (batch.draws.u_set[(*at, flat.place)][row, 1] < 0.35)
    reps = np.maximum(flat.reps[row] - weaker, 1)
    pair = plan.superset[flat.athlete, flat.slot][row]
    first_of_pair = flat.slot[row] - (pair == 2)
    two_hands = (stock.kind == 1) & ~stock.one_sided
    names = pl.Series(stock.exercise, dtype=pl.String)
    frame = pl.DataFrame(
        {
            "athlete": pl.Series(batch.ids)[flat.athlete[row]],
            "date": pl.Series(batch.days()[visits.day[at]][row]).cast(pl.Date),
            "session": pl.Series(np.ones(len(row), np.int32)),
            "slot": flat.slot[row],
            "place": flat.place[row],
            "exercise": names[exercise[row]],
            "exercise_as_logged": pl.Series(stock.name)[exercise[row]],
            "family": pl.Series(stock.families)[stock.family[exercise[row]]],
            "role": pl.Series(schema.ROLES)[flat.role[row]],
            "role_source": pl.Series(["logged"])[np.zeros(len(row), int)],
            "chained": flat.chained[row],
            "superset": np.where(pair > 0, first_of_pair + 1, 0),
            "side": side,
            "load_kg": np.round(flat.load_kg[row], 9),
            "added_kg": np.round(flat.added_kg[row], 9),
            "implements": np.where(two_hands[exercise[row]], 2, 0),
            "reps": reps,
            "rir": flat.rir[row],
            "rest_s": flat.rest_s[row],
        }
    )
    frame = (
        frame.sort("athlete", "date", "slot", "place", "side")
        .with_columns(position=pl.col("slot").rank("dense").over("athlete", "date"))
        .with_columns(
            set_number=pl.int_range(1, pl.len() + 1).over("athlete", "date", "slot"),
            rest_s=pl.when(pl.col("place") == pl.col("place").first().over("athlete", "date", "slot"))
            .then(None)
            .otherwise(pl.col("rest_s").fill_nan(None)),
            chain=pl.when("chained").then(1),
            superset=pl.when(pl.col("superset") > 0).then(pl.concat_str(pl.lit("S"), "superset")),
            side=pl.col("side").replace_strict({0: None, 1: "left", 2: "right"}, return_dtype=pl.String),
            added_kg=pl.col("added_kg").fill_nan(None),
            implements=pl.when(pl.col("implements") > 0).then("implements"),
            rir=pl.col("rir").fill_nan(None),
            seconds=pl.lit(None),
            suspect=pl.lit(False),
            note=pl.lit(None),
            source_file=pl.lit("simulated"),
            source_row=pl.int_range(1, pl.len() + 1).over("athlete"),
        )
    )
    return schema.conform(frame, schema.SETS)
