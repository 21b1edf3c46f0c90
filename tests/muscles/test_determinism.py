"""The same bytes whatever the number of threads, and whoever else is in the roster."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

import analytics

PROGRAM = """
import hashlib
from datetime import timedelta
import numpy as np
import polars as pl
from analytics.catalogue import load_catalogue
from analytics.muscles import (
    BalanceInputs, MuscleInputs, balance, bodyweight, count_weeks, judge_muscles, session_load,
)
from analytics.simulate import LAST_DAY, World, simulate_roster
from analytics.evidence.muscle_calls import simulated_roster

found, catalogue = simulate_roster(World(), 40, 20, 3), load_catalogue()
draw = np.random.default_rng(0)
girths = pl.DataFrame(
    [
        (a, LAST_DAY - timedelta(weeks=week), girth, side, float(draw.normal(38, 0.5)), "cm")
        for a in found.athletes["athlete"] for week in range(0, 12, 2)
        for girth in ("calf", "thigh", "upper_arm") for side in ("left", "right")
    ],
    schema=found.checkins.schema, orient="row",
)
checkins = pl.concat([found.checkins, girths])
lifts = found.truth_lifts.group_by("athlete", "exercise").agg(
    slope_pct_per_week=pl.col("slope_pct_per_week").last(), last_date=pl.col("week_end").last()
).with_columns(slope_low=pl.col("slope_pct_per_week") - 0.3, slope_high=pl.col("slope_pct_per_week") + 0.2)

def tables(keep):
    sets, seen = found.sets.filter(keep), checkins.filter(keep)
    weeks = count_weeks(sets, catalogue, LAST_DAY)
    roster = simulated_roster(found)
    return [
        weeks,
        judge_muscles(MuscleInputs(
            weeks=weeks, lifts=lifts.filter(keep), checkins=seen, calendar=found.calendar.filter(keep),
            roster=roster, catalogue=catalogue, as_of=LAST_DAY,
        )),
        balance(BalanceInputs(weeks=weeks, sets=sets, checkins=seen, catalogue=catalogue, as_of=LAST_DAY)),
        bodyweight(seen, roster, LAST_DAY),
        session_load(seen, sets, LAST_DAY),
    ]

everyone = tables(pl.lit(True))
for few in (["a00003"], ["a00001", "a00020", "a00031"]):
    some = pl.col("athlete").is_in(few)
    for whole, part in zip(everyone, tables(some)):
        assert whole.filter(some).write_csv() == part.write_csv()
print(hashlib.sha256("".join(table.write_csv() for table in everyone).encode()).hexdigest())
"""


@pytest.mark.slow
def test_threads_and_company_change_no_byte():
    root = str(Path(analytics.__file__).parents[1])
    digests = set()
    for threads in ("1", "3"):
        names = ("POLARS_MAX_THREADS", "OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")
        env = os.environ | dict.fromkeys(names, threads) | {"PYTHONPATH": root}
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM], env=env, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        digests.add(done.stdout)
    assert len(digests) == 1
