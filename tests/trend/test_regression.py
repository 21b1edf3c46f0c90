"""Straight lines and rank tests against certified and published values."""

import numpy as np
import pytest
from scipy.stats import norm

from analytics.trend.regression import median_slope, straight_lines
from analytics.trend.scores import cusum, mann_kendall, window_slope

# NIST Statistical Reference Datasets, Norris (US-government data; certified values from the same page).
NORRIS_Y = (
    "0.1 338.8 118.1 888.0 9.2 228.1 668.5 998.5 449.1 778.9 559.2 0.3 0.1 778.1 668.8 339.3 448.9 10.8 557.7"
    " 228.3 998.0 888.8 119.6 0.3 0.6 557.6 339.3 888.0 998.5 778.9 10.2 117.6 228.9 668.4 449.2 0.2"
)
NORRIS_X = (
    "0.2 337.4 118.2 884.6 10.1 226.5 666.3 996.3 448.6 777.0 558.2 0.4 0.6 775.5 666.9 338.0 447.5 11.6"
    " 556.0 228.1 995.8 887.6 120.2 0.3 0.3 556.8 339.1 887.2 999.0 779.0 11.1 118.3 229.2 669.1 448.9 0.5"
)


def numbers(text):
    return np.array([float(word) for word in text.split()])


def test_norris():
    lines = straight_lines(numbers(NORRIS_X)[None], numbers(NORRIS_Y)[None])
    assert lines.points[0] == 36
    assert lines.intercept[0] == pytest.approx(-0.262323073774029, rel=1e-10)
    assert lines.slope[0] == pytest.approx(1.00211681802045, rel=1e-12)
    assert lines.intercept_se[0] == pytest.approx(0.232818234301152, rel=1e-9)
    assert lines.slope_se[0] == pytest.approx(4.29796848199937e-4, rel=1e-9)
    assert lines.residual_sd[0] == pytest.approx(0.884796396144373, rel=1e-10)


def test_nile_least_squares_line():
    # Ordinary least squares of the Nile on time: slope -2.71431, SE 0.52155 (R 4.2.2 and scipy).
    import statsmodels.api as sm

    nile = sm.datasets.nile.load_pandas().data["volume"].to_numpy()
    lines = straight_lines(np.arange(100.0), nile[None])
    assert lines.slope[0] == pytest.approx(-2.71431, abs=1e-5)
    assert lines.slope_se[0] == pytest.approx(0.52155, abs=1e-5)
    assert median_slope(np.arange(100.0), nile) == pytest.approx(-2.6, abs=1e-3)
    # Mann-Kendall S = -1387 of 4950 pairs (pymannkendall).
    assert mann_kendall(nile[None], 100)[0, -1] * 4950 == pytest.approx(-1387, abs=1e-6)


def test_sen_1968():
    # Sen 1968, J Am Stat Assoc 63:1379-1389, worked example (read in scipy's test_mstats_basic.py).
    time = np.array([1.0, 2, 3, 4, 10, 12, 18])
    assert median_slope(time, np.array([9.0, 15, 19, 20, 45, 55, 78])) == pytest.approx(4.0, abs=1e-12)


def test_mann_kendall_with_ties():
    # EPA QA/G-9S p. 109 (second-hand): S = 22, ties of 4 and 2, variance 155.33, Z = 1.685.
    value = np.array([10.0, 10, 10, 5, 10, 20, 18, 17, 15, 24, 15])
    share = mann_kendall(value[None], 11)[0, -1]
    assert share * 55 == pytest.approx(22, abs=1e-9)
    n, ties = 11, (4, 2)
    variance = (n * (n - 1) * (2 * n + 5) - sum(t * (t - 1) * (2 * t + 5) for t in ties)) / 18
    assert variance == pytest.approx(155.333, abs=1e-3)
    assert (22 - 1) / np.sqrt(variance) == pytest.approx(1.68495, abs=1e-4)


def test_mann_kendall_small():
    # EPA QA/G-9 box (data from memory): 5, 6, 11, 8, 10 has S = 6 of 10 pairs.
    assert mann_kendall(np.array([[5.0, 6, 11, 8, 10]]), 5)[0, -1] == pytest.approx(0.6)


def test_window_slope_sees_only_its_window():
    value = np.concatenate([np.full(10, 5.0), 5 + 0.01 * np.arange(8)])[None]
    slope, _ = window_slope(value, 8)
    assert slope[0, -1] == pytest.approx(0.01, abs=1e-12)
    assert slope[0, 9] == pytest.approx(0.0, abs=1e-12)


def test_cusum_path():
    # Montgomery's example (data read in the IMSL manual): mean 10, k = 0.5; C+ is 5.28 at 29, above 5.
    value = numbers(
        "9.45 7.99 9.29 11.66 12.16 10.18 8.04 11.46 9.20 10.34 9.03 11.47 10.51 9.40 10.08 9.37 10.62 10.31 "
        "8.52 10.84 10.90 9.33 12.29 11.50 10.60 11.08 10.38 11.62 11.31 10.52"
    )
    # Ours counts falls, so the series is turned over.
    path = cusum(-(value - 10)[None])[0]
    np.testing.assert_allclose(path[27:30], [4.47, 5.28, 5.30], atol=0.01)
    alarm = int(np.argmax(path > 5))
    assert alarm + 1 == 29
    run = alarm - int(np.flatnonzero(path[:alarm] == 0)[-1])
    assert run == 7
    # Page's estimate of the new mean: 10 + k + C+ / N+ = 11.25.
    assert 10 + 0.5 + path[alarm] / run == pytest.approx(11.25, abs=0.01)


@pytest.mark.parametrize("limit, expected", [(4.0, 335.37), (5.0, 930.89)])
def test_cusum_run_length_in_control(limit, expected):
    # One-sided average run length at k = 0.5 by the integral equation (Page 1954; tables in Montgomery).
    assert run_length(limit, 0.0) == pytest.approx(expected, rel=0.005)


@pytest.mark.parametrize("limit, expected", [(4.0, 8.38), (5.0, 10.38)])
def test_cusum_run_length_after_a_shift_of_one(limit, expected):
    rng = np.random.default_rng(3)
    error = rng.normal(-1.0, 1.0, (20000, 80))
    found = cusum(error) > limit
    lengths = np.where(found.any(axis=1), found.argmax(axis=1) + 1, 80)
    assert lengths.mean() == pytest.approx(expected, rel=0.02)


def run_length(limit, shift, nodes=200):
    """Average run length of a one-sided CUSUM by Gauss-Legendre quadrature of its integral equation."""
    x, w = np.polynomial.legendre.leggauss(nodes)
    x, w = (x + 1) * limit / 2, w * limit / 2
    kernel = norm.pdf(x[None, :] - x[:, None] + 0.5 - shift) * w[None, :]
    at_zero = norm.cdf(0.5 - shift - x)
    system = np.eye(nodes + 1)
    system[:nodes, :nodes] -= kernel
    system[:nodes, nodes] -= at_zero
    system[nodes, :nodes] -= norm.pdf(x + 0.5 - shift) * w
    system[nodes, nodes] -= norm.cdf(0.5 - shift)
    return np.linalg.solve(system, np.ones(nodes + 1))[nodes]


def test_our_cusum_runs_as_long_as_the_equation_says():
    rng = np.random.default_rng(5)
    found = cusum(rng.normal(-0.5, 1.0, (20000, 400))) > 4
    lengths = np.where(found.any(axis=1), found.argmax(axis=1) + 1, 400)
    assert lengths.mean() == pytest.approx(run_length(4.0, 0.5), rel=0.03)
    assert run_length(4.0, 0.5) == pytest.approx(26.68, abs=0.02)
