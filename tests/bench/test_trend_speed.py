"""Speed of the trend beside the stock way: statsmodels' unobserved components, one series at a time.

Run by hand: ``pytest -m bench tests/bench/test_trend_speed.py -s`` with one thread (OMP_NUM_THREADS=1).
"""

import time
import warnings

import numpy as np
import pytest
import statsmodels.api as sm

from analytics.simulate import LAST_DAY, World, simulate_roster
from analytics.strength import estimate_sessions
from analytics.trend import fit_trends
from analytics.trend.judge import judge
from analytics.trend.series import make_series, week_ends

pytestmark = pytest.mark.bench

WEEKS = 52


@pytest.fixture(scope="module")
def simulated():
    return simulate_roster(World(), athletes=200, weeks=WEEKS, seed=1)


@pytest.fixture(scope="module")
def sessions(simulated):
    return estimate_sessions(simulated.sets)


def test_a_year_of_weekly_states_takes_a_millisecond_a_series(simulated, sessions):
    ends = week_ends(min(sessions["date"].to_list()), LAST_DAY)
    series = make_series(sessions, simulated.calendar, "exercise")
    begin = time.process_time()
    judge(series, ends, LAST_DAY)
    ours = (time.process_time() - begin) / len(series.lifts)
    rng = np.random.default_rng(1)
    value = 4 + np.cumsum(rng.normal(0.002, 0.003, WEEKS)) + rng.normal(0, 0.03, WEEKS)
    begin = time.process_time()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for _ in range(5):
            sm.tsa.UnobservedComponents(value, "lltrend").fit(disp=0)
    stock = (time.process_time() - begin) / 5
    print(f"\nweekly states of a year: {1000 * ours:.2f} ms a series, {len(series.lifts)} series")
    print(f"statsmodels fit of the last week alone: {1000 * stock:.2f} ms; ratio {stock / ours:.0f}")
    print(f"statsmodels for {WEEKS} weekly states: ratio {WEEKS * stock / ours:.0f}")
    assert ours < 0.0015
    assert stock > ours


def test_everything_from_sets_to_tables(simulated):
    begin = time.process_time()
    sessions = estimate_sessions(simulated.sets)
    middle = time.process_time()
    trends = fit_trends(sessions, simulated.calendar, LAST_DAY)
    end = time.process_time()
    print(
        f"\n{len(simulated.sets)} sets, {len(sessions)} sessions, {len(trends.lifts)} lifts, "
        f"{len(trends.history)} lift-weeks: sessions {middle - begin:.2f} s, trends {end - middle:.2f} s"
    )
    assert len(trends.lifts) > 1000
