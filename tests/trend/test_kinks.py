"""Broken lines against weighted least squares of statsmodels, fitted one by one."""

import numpy as np
import pytest
import statsmodels.api as sm

from analytics.trend.kinks import STRETCH, TURNS, find_kinks


def by_hand(value, variance):
    """Log of the mean likelihood of the turns over that of the line, in the last stretch, by WLS."""
    lag = np.arange(STRETCH - 1, -1, -1.0)
    y, v = value[-STRETCH:], variance[-STRETCH:]
    known = np.isfinite(y)
    shapes = [-lag, *[np.minimum(turn - lag, 0) for turn in TURNS]]
    fits = [sm.WLS(y[known], sm.add_constant(x[known]), weights=1 / v[known]).fit() for x in shapes]
    misfit = np.array([(fit.resid**2 / v[known]).sum() for fit in fits])
    scatter = max(misfit.min() / (known.sum() - 2), 0.5)
    likelihood = np.exp(-0.5 * (misfit - misfit.min()) / scatter)
    return np.log(likelihood[1:].mean() / likelihood[0]), fits[1 + np.argmin(misfit[1:])].params[1]


@pytest.mark.parametrize("seed", range(4))
def test_agrees_with_weighted_least_squares(seed):
    rng = np.random.default_rng(seed)
    value = 4 + 0.004 * np.minimum(np.arange(45), 33) + rng.normal(0, 0.02, 45)
    value[rng.random(45) < 0.2] = np.nan
    variance = rng.uniform(0.0002, 0.0008, 45)
    found = find_kinks(value[None], variance[None])
    odds, rise = by_hand(value, variance)
    assert found.odds[0, -1] == pytest.approx(odds, rel=1e-6, abs=1e-8)
    assert found.rise[0, -1] == pytest.approx(rise, rel=1e-6)


def test_a_clear_turn_is_found_and_a_clear_rise_has_none():
    week = np.arange(40.0)
    turned, straight = 0.006 * np.minimum(week, 29), 0.006 * week
    rng = np.random.default_rng(1)
    both = np.stack([turned, straight]) + rng.normal(0, 0.004, (2, 40))
    found = find_kinks(both, np.full((2, 40), 0.004**2))
    assert found.turn[0, -1] == pytest.approx(10, abs=2)
    assert found.odds[0, -1] > 5
    assert found.odds[1, -1] < -1


def test_later_weeks_change_nothing():
    rng = np.random.default_rng(2)
    value, variance = rng.normal(0, 0.03, (3, 30)), np.full((3, 30), 0.0009)
    whole, part = find_kinks(value, variance), find_kinks(value[:, :19], variance[:, :19])
    for name in ("odds", "turn", "rise"):
        np.testing.assert_array_equal(getattr(whole, name)[:, :19], getattr(part, name))
