"""How sure anyone can be: published variation and rates against the trend's constants and arithmetic."""

import numpy as np
import pytest

from analytics.trend.certainty import slope_se, weeks_to_tell
from analytics.trend.model import Model
from analytics.trend.regimes import PROGRESSING, REGRESSING, STALLED, default_regimes


@pytest.mark.parametrize("weeks, expected", [(8, 0.65), (12, 0.35), (16, 0.23), (26, 0.11)])
def test_standard_error_of_a_weekly_slope(weeks, expected):
    # Ordinary least squares on equal steps; variation 4.2 % (Grgic et al. 2020, median of 32 studies).
    assert slope_se(np.array([weeks]), 4.2)[0] == pytest.approx(expected, abs=0.01)
    time = np.arange(weeks) - (weeks - 1) / 2
    assert slope_se(np.array([weeks]), 4.2)[0] == pytest.approx(4.2 / np.sqrt((time**2).sum()), rel=1e-12)


def test_noise_of_a_session_is_near_the_published_variation():
    # Grgic et al. 2020, Sports Med Open 6:31: coefficient of variation 0.5-12.1 %, median 4.2 %.
    model = Model()
    logged = np.sqrt(
        model.day_sd**2 + model.own_sd**2 + 0.015**2 + float(model.departure_var(np.zeros(1))[0])
    )
    unlogged = np.sqrt(
        model.day_sd**2 + model.own_sd**2 + 0.015**2 + float(model.departure_var(np.ones(1))[0])
    )
    assert 0.005 < logged < 0.042 < 0.121
    assert unlogged == pytest.approx(0.042, abs=0.006)


def test_limits_of_one_change():
    # Two tests of 4.2 %: 95 % of changes within 11.64 %, 90 % within 9.77 % (Grgic 2020, computed).
    assert 1.95996 * np.sqrt(2) * 4.2 == pytest.approx(11.64, abs=0.01)
    assert 1.64485 * np.sqrt(2) * 4.2 == pytest.approx(9.77, abs=0.01)


def test_regimes_cover_published_rates():
    # Latella et al. 2020: 0.15 kg a day on 513.3 kg, 0.12 on 289.4.
    # Appleby et al. 2012: 6.5-11.5 % in 104 weeks.
    men, women = 100 * 7 * 0.15 / 513.3, 100 * 7 * 0.12 / 289.4
    assert men == pytest.approx(0.2046, abs=1e-3)
    assert women == pytest.approx(0.2903, abs=1e-3)
    rugby = (6.5 / 104, 11.5 / 104)
    slope = 100 * default_regimes().slope
    gains = slope[default_regimes().kind == PROGRESSING]
    for rate in (men, women, *rugby):
        assert np.abs(np.log(gains / rate)).min() < np.log(1.35)
    assert gains.min() < 0.09
    assert gains.max() > 1.0


def test_regimes_are_a_proper_chain():
    regimes = default_regimes()
    assert regimes.prior.sum() == pytest.approx(1, abs=1e-12)
    np.testing.assert_allclose(regimes.enter.sum(axis=1), 1, atol=1e-12)
    assert (np.diag(regimes.enter) == 0).all()
    assert (np.diff(regimes.slope) > 0).all()
    assert (regimes.slope[regimes.kind == STALLED] == 0).all()
    assert (regimes.slope[regimes.kind == REGRESSING] < 0).all()


def test_weeks_to_tell_shrink_with_less_noise_and_faster_gain():
    slope = np.array([0.0025, 0.0025, 0.006])
    weeks = weeks_to_tell(slope, np.array([0.042, 0.021, 0.042]))
    assert weeks[1] < weeks[0]
    assert weeks[2] < weeks[0]
    # 0.25 % a week stands clear of none (one-sided 90 %) once 1.2816 standard errors fit into it.
    n = weeks[0]
    assert slope_se(np.array([n]), 4.2)[0] * 1.2816 <= 0.25 < slope_se(np.array([n - 1]), 4.2)[0] * 1.2816
