"""Speed of the muscle tables beside the stock ways: pandas for the counts, MixedLM for the mixed model.

Run by hand: ``pytest -m bench tests/bench/test_muscle_speed.py -s``; ratios of processor time in one run.
"""

import time
from pathlib import Path

import numpy as np
import pandas as pd
import polars as pl
import pytest
import statsmodels.formula.api as smf

from analytics.catalogue import load_catalogue
from analytics.evidence.muscle_calls import simulated_roster
from analytics.muscles import MuscleInputs, count_weeks, judge_muscles
from analytics.muscles.mixed import Blocks, fit_mixed
from analytics.simulate import LAST_DAY, World, simulate_roster

pytestmark = pytest.mark.bench

ATHLETES, WEEKS = 400, 52
SLEEPSTUDY = Path(__file__).parents[1] / "muscles" / "reference" / "sleepstudy.csv"


@pytest.fixture(scope="module")
def simulated():
    return simulate_roster(World(), ATHLETES, WEEKS, seed=1)


@pytest.fixture(scope="module")
def catalogue():
    return load_catalogue()


def seconds(work) -> float:
    begin = time.process_time()
    work()
    return time.process_time() - begin


def stock_counts(sets: pd.DataFrame, shares: pd.DataFrame) -> pd.DataFrame:
    """Seven of the columns, the usual way: merge, then group.  Chains and sides are left aside."""
    hard = sets[sets["role"].isin(["working", "back_off"]) & ~(sets["rir"] > 4)]
    hard = hard.assign(week=hard["date"].dt.to_period("W"), tonnage=hard["load_kg"] * hard["reps"])
    merged = hard.merge(shares, on="exercise")
    merged = merged.assign(direct_share=merged["share"].where(merged["direct"], 0.0))
    by = merged.groupby(["athlete", "muscle", "week"])
    return by.agg(
        direct=("direct_share", "sum"),
        fractional=("share", "sum"),
        total=("share", "size"),
        days=("date", "nunique"),
        tonnage=("tonnage", "sum"),
        reps=("reps", "sum"),
        rir=("rir", "mean"),
    ).reset_index()


def test_counting(simulated, catalogue):
    ours = seconds(lambda: count_weeks(simulated.sets, catalogue, LAST_DAY))
    columns = ["athlete", "date", "exercise", "role", "rir", "load_kg", "reps"]
    sets = pd.DataFrame(simulated.sets.select(columns).to_dict(as_series=False))
    sets["date"] = pd.to_datetime(sets["date"])
    shares = pd.DataFrame(catalogue.shares().to_dict(as_series=False))
    stock = seconds(lambda: stock_counts(sets, shares))
    million = len(simulated.sets) / 1e6
    print(f"\nall counts of {million:.2f} M sets: {ours:.2f} s, {ours / million:.2f} s a million")
    print(f"pandas, seven of the eighteen columns: {stock:.2f} s; ratio {stock / ours:.1f}")
    assert 3 * ours / million < 10


def test_judging(simulated, catalogue):
    weeks = count_weeks(simulated.sets, catalogue, LAST_DAY)
    truth = simulated.truth_lifts.group_by("athlete", "exercise").agg(
        slope_pct_per_week=pl.col("slope_pct_per_week").tail(8).mean(), last_date=pl.col("week_end").max()
    )
    lifts = truth.with_columns(
        slope_low=pl.col("slope_pct_per_week") - 0.25, slope_high=pl.col("slope_pct_per_week") + 0.25
    )
    inputs = MuscleInputs(
        weeks=weeks,
        lifts=lifts,
        checkins=simulated.checkins,
        calendar=simulated.calendar,
        roster=simulated_roster(simulated),
        catalogue=catalogue,
        as_of=LAST_DAY,
    )
    ours = seconds(lambda: judge_muscles(inputs))
    print(f"\njudging {ATHLETES} athletes: {ours:.2f} s, {2000 * ours / ATHLETES:.1f} s for 2,000")
    assert 2000 * ours / ATHLETES < 10


def test_mixed_model():
    frame = pd.read_csv(SLEEPSTUDY)
    y = frame["Reaction"].to_numpy().reshape(18, 10)
    x = np.stack([np.ones((18, 10)), frame["Days"].to_numpy(dtype=float).reshape(18, 10)], axis=2)
    blocks = Blocks(
        y=y, x=x, terms=(x[:, :, :, None],), known=np.zeros(y.shape), used=np.ones(y.shape, dtype=bool)
    )
    ours = seconds(lambda: fit_mixed(blocks))
    stock = seconds(lambda: smf.mixedlm("Reaction ~ Days", frame, groups="Subject", re_formula="~Days").fit())
    print(f"\nsleepstudy: {1000 * ours:.0f} ms; statsmodels MixedLM: {1000 * stock:.0f} ms")
    assert ours < 10 * stock
