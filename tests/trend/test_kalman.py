"""Kalman filter and smoother of the local linear trend against the Nile series and statsmodels."""

import numpy as np
import pytest
import statsmodels.api as sm

from analytics.trend.kalman import LocalTrend, fit_local_trend

NILE = sm.datasets.nile.load_pandas().data["volume"].to_numpy()
"""Annual flow at Aswan 1871-1970; shipped with statsmodels."""


def level_fit(value, noise, level_var):
    times = len(value)
    model = LocalTrend(level_var=np.array([level_var]), slope_var=np.zeros(1), with_slope=False)
    return fit_local_trend(value[None], np.full((1, times), noise), np.arange(float(times))[None], model)


@pytest.fixture(scope="module")
def nile():
    # Durbin & Koopman 2012, Time Series Analysis by State Space Methods, p. 37: variances 15099 and 1469.1
    # (read in statsmodels' test_mlemodel.py).
    return level_fit(NILE, 15099.0, 1469.1)


# Expected values below: exact diffuse local level at those variances, run once with statsmodels 0.15.
def test_nile_likelihood(nile):
    assert nile.log_likelihood[0] == pytest.approx(-633.4646, abs=1e-3)


def test_nile_filtered(nile):
    found = nile.filtered[0, [0, 1, 2, 99], 0]
    np.testing.assert_allclose(found, [1120.0, 1140.928, 1072.799, 798.370], atol=1e-3)
    spread = nile.filtered_cov[0, [0, 1, 2, 99], 0, 0]
    np.testing.assert_allclose(spread, [15099.0, 7899.74, 5781.47, 4032.16], atol=1e-2)


def test_nile_smoothed(nile):
    found = nile.smoothed[0, [0, 27, 28, 99], 0]
    np.testing.assert_allclose(found, [1111.668, 999.585, 950.930, 798.370], atol=1e-2)
    spread = nile.smoothed_cov[0, [0, 50, 99], 0, 0]
    np.testing.assert_allclose(spread, [4032.16, 2326.76, 4032.16], atol=1e-2)


def test_nile_forecast(nile):
    ahead = level_fit(np.append(NILE, np.nan), 15099.0, 1469.1)
    assert ahead.filtered[0, -1, 0] == pytest.approx(798.370, abs=1e-2)
    assert np.sqrt(ahead.filtered_cov[0, -1, 0, 0] + 15099.0) == pytest.approx(143.528, abs=1e-2)
    assert nile.filtered_cov[0, -1, 0, 0] + 1469.1 == pytest.approx(5501.258, abs=1e-2)


def test_nile_variances_are_near_the_most_likely_ones():
    # Durbin & Koopman's optimum: variances well away from it are less likely.
    best = level_fit(NILE, 15099.0, 1469.1).log_likelihood[0]
    for noise, level in ((15099 * 1.5, 1469.1), (15099 / 1.5, 1469.1), (15099.0, 2938.0), (15099.0, 734.0)):
        assert level_fit(NILE, noise, level).log_likelihood[0] < best


@pytest.mark.parametrize("seed", range(5))
def test_irregular_series_equals_statsmodels_on_the_daily_grid(seed):
    # statsmodels UnobservedComponents("lltrend", exact diffuse) with missing days.
    rng = np.random.default_rng(seed)
    day = np.cumsum(rng.integers(1, 9, 40))
    day = day - day[0]
    value = 4 + np.cumsum(rng.normal(0.001, 0.01, 40)) + rng.normal(0, 0.03, 40)
    grid = np.full(day[-1] + 1, np.nan)
    grid[day] = value
    noise, level, slope = 0.03**2, 0.004**2, 0.0002**2
    stock = sm.tsa.UnobservedComponents(grid, "lltrend", use_exact_diffuse=True).smooth([noise, level, slope])
    ours = fit_local_trend(
        value[None],
        np.full((1, 40), noise),
        day[None].astype(float),
        LocalTrend(level_var=np.array([level]), slope_var=np.array([slope])),
    )
    assert ours.log_likelihood[0] == pytest.approx(stock.llf, abs=1e-6)
    np.testing.assert_allclose(ours.smoothed[0], stock.smoothed_state[:, day].T, rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(
        ours.smoothed_cov[0], stock.smoothed_state_cov[:, :, day].transpose(2, 0, 1), rtol=1e-5, atol=1e-12
    )


def test_many_series_at_once_equal_each_alone():
    rng = np.random.default_rng(7)
    day = np.cumsum(rng.integers(1, 6, (5, 20)), axis=1).astype(float)
    value = rng.normal(4, 0.05, (5, 20))
    value[2, 12:] = np.nan
    day[2, 12:] = day[2, 11]
    variance = np.full((5, 20), 0.03**2)

    def fit(rows):
        model = LocalTrend(level_var=np.full(len(rows), 1e-6), slope_var=np.full(len(rows), 1e-9))
        return fit_local_trend(value[rows], variance[rows], day[rows], model)

    together = fit([0, 1, 2, 3, 4])
    for row in range(5):
        alone = fit([row])
        np.testing.assert_allclose(together.smoothed[row], alone.smoothed[0], rtol=1e-9)
        assert together.log_likelihood[row] == pytest.approx(alone.log_likelihood[0], rel=1e-12)


def test_one_session_with_a_prior_slope_has_a_finite_answer():
    model = LocalTrend(
        level_var=np.array([1e-6]),
        slope_var=np.array([1e-9]),
        start_mean=np.array([[0.0, 0.0003]]),
        start_precision=np.diag([1e-6, 1e6])[None],
    )
    fit = fit_local_trend(np.array([[4.6]]), np.array([[0.001]]), np.array([[0.0]]), model)
    assert fit.smoothed[0, 0, 0] == pytest.approx(4.6, abs=1e-6)
    assert fit.smoothed[0, 0, 1] == pytest.approx(0.0003, abs=1e-6)
