"""Evidence on simulated rosters: mechanics on a made-up table, and a small roster through the whole path."""

import numpy as np
import polars as pl
import pytest

from analytics.evidence.muscle_calls import gather_calls, shared_error, weigh_calls
from analytics.simulate import World, simulate_roster
from analytics.strength import estimate_sessions
from analytics.trend import fit_trends


def calls(p, lagging) -> pl.DataFrame:
    count = len(p)
    return pl.DataFrame(
        {
            "athlete": [f"a{n // 4:04d}" for n in range(count)],
            "muscle": [f"m{n % 4}" for n in range(count)],
            "p_lagging": p,
            "lagging": lagging,
            "weekly_sets": np.linspace(1, 20, count),
            "plain_slope": -np.asarray(p, dtype=float),
        }
    )


def test_a_calibrated_probability_has_slope_one():
    generator = np.random.default_rng(5)
    p = generator.beta(1, 3, 20000)
    found = weigh_calls(calls(p, generator.uniform(size=p.size) < p)).calibration.row(0, named=True)
    assert found["slope"] == pytest.approx(1, abs=0.05)
    assert found["intercept"] == pytest.approx(0, abs=0.08)
    assert found["expected_error"] < 0.02
    assert found["brier"] == pytest.approx(np.mean(p * (1 - p)), abs=0.005)


def test_odds_that_are_twice_too_timid_have_slope_two():
    generator = np.random.default_rng(5)
    p = generator.beta(1, 3, 20000)
    timid = 1 / (1 + np.sqrt((1 - p) / p))
    found = weigh_calls(calls(timid, generator.uniform(size=p.size) < p)).calibration.row(0, named=True)
    assert found["slope"] == pytest.approx(2, abs=0.1)


def test_detection_by_hand():
    table = calls([0.9, 0.1, 0.2, 0.3, 0.6, 0.4, 0.7, 0.1], [True, False, True, False, True] + [False] * 3)
    found = weigh_calls(table).detection.filter(pl.col("method") == "probability of lagging")
    assert found["named"].to_list() == [2, 3]
    assert found["precision"].to_list() == pytest.approx([1 / 2, 2 / 3])
    assert found["recall"].to_list() == pytest.approx([1 / 3, 2 / 3])
    # Pairs by hand: 0.9 beats five, 0.6 beats four, 0.2 beats two, of five groups that do not lag.
    assert found["auc"].to_list() == pytest.approx([11 / 15] * 2)


@pytest.mark.slow
def test_lagging_groups_are_found_better_than_by_rules(catalogue):
    # Simulated roster with known truth, seed of the development range.
    simulated = simulate_roster(World(), 120, 40, 77)
    found = weigh_calls(gather_calls(simulated, catalogue))
    auc = dict(found.detection.select("method", "auc").unique().rows())
    assert auc["probability of lagging"] > auc["rule: lowest slope"] + 0.05
    assert auc["probability of lagging"] > auc["rule: fewest sets"] + 0.1
    row = found.calibration.row(0, named=True)
    assert row["brier"] < row["brier_base"]
    assert row["expected_error"] < 0.12
    lifts = fit_trends(estimate_sessions(simulated.sets), simulated.calendar, World().last_day).lifts
    assert 0 <= shared_error(simulated, lifts) < 0.6
