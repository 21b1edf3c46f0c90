"""The yardsticks themselves: agreement with reference libraries, and worlds that are what they claim."""

import json
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
import statsmodels.api as sm
from scipy.stats import mannwhitneyu

from analytics import schema
from analytics.evidence import agreement
from analytics.evidence.fit import ROSTERS, stored
from analytics.evidence.intervals import widths
from analytics.evidence.network import Examples, Training, fit_network
from analytics.evidence.worlds import HELD_OUT, held_out, training_rosters
from analytics.simulate.unlike import UNLIKE, simulate_unlike
from analytics.strength import estimate_sessions
from analytics.trend.correction import network_from
from analytics.trend.features import Features


def test_area_under_curve_is_the_rank_statistic():
    # Mann & Whitney 1947 through scipy: U over the number of pairs.
    rng = np.random.default_rng(1)
    score = np.round(rng.normal(size=200), 1)
    positive = rng.random(200) < 0.3
    stock = mannwhitneyu(score[positive], score[~positive]).statistic
    expected = stock / (positive.sum() * (~positive).sum())
    assert agreement.area_under_curve(score, positive) == pytest.approx(expected, rel=1e-12)


def test_calibration_slope_is_a_logistic_regression():
    # statsmodels Logit on the log-odds told.
    rng = np.random.default_rng(2)
    chance = rng.uniform(0.05, 0.95, 2000)
    happened = rng.random(2000) < chance**1.3
    found = agreement.reliability(chance, happened)
    x = sm.add_constant(np.log(chance / (1 - chance)))
    stock = sm.Logit(happened.astype(float), x).fit(disp=0).params[1]
    assert found.slope == pytest.approx(stock, rel=1e-6)
    assert found.brier == pytest.approx(np.mean((chance - happened) ** 2), rel=1e-12)
    assert found.bins["lift_weeks"].sum() == 2000


def test_true_probabilities_are_calibrated():
    rng = np.random.default_rng(3)
    chance = rng.beta(2, 5, 40000)
    found = agreement.reliability(chance, rng.random(40000) < chance)
    assert found.slope == pytest.approx(1, abs=0.05)
    assert found.expected_error < 0.01


def weeks_of(progressing, score):
    last = date(2026, 11, 22)
    count = len(progressing)
    left = np.maximum.accumulate(np.where(progressing, np.arange(count), -1))
    after = [None if p else int(k - left[k]) for k, p in enumerate(progressing)]
    return pl.DataFrame(
        {
            "athlete": "heron",
            "exercise": "row",
            "week_end": [last - timedelta(weeks=count - 1 - k) for k in range(count)],
            "progressing": progressing,
            "weeks_after": pl.Series(after, dtype=pl.Int64),
            "run": pl.Series(np.cumsum(np.diff(np.r_[True, progressing].astype(int)) != 0)),
            "score": score,
        }
    )


def test_detection_counts_as_a_person_would():
    progressing = [True] * 20 + [False] * 14
    score = [0.1] * 19 + [0.9] + [0.2] * 6 + [0.8] * 8
    found = agreement.detection(weeks_of(progressing, score), "score", 0.5)
    assert found.false_alarms == pytest.approx(1 / 20)
    assert found.false_names == pytest.approx(1 / 9)
    assert found.flagged == {8: 1.0, 12: 1.0}
    # Weeks 8 and 12 after onset score 0.8: above 19 of the 20 progressing weeks.
    assert found.auc[8] == pytest.approx(19 / 20)
    assert found.auc[4] == pytest.approx(19 / 20)


def test_threshold_lets_through_the_share_it_says():
    rng = np.random.default_rng(4)
    rows = weeks_of([True] * 400, rng.random(400))
    limit = agreement.threshold_for(rows, "score", 0.05)
    assert (rows["score"] >= limit).mean() <= 0.05


def test_widths_make_eighty_percent_fall_inside():
    rng = np.random.default_rng(5)
    kinds = ("slope", "strength", "change_4_weeks", "change_8_weeks", "forecast", "session")
    worlds = [{kind: np.abs(rng.normal(0, 2 / 1.2816, 20000)) for kind in kinds} for _ in range(3)]
    # Half-widths are in units of 1.2816 standard deviations, so twice the spread needs twice the width.
    assert widths(worlds, worlds).slope_width == pytest.approx(2.0, rel=0.03)


def test_the_slope_holds_in_three_worlds_of_four():
    rng = np.random.default_rng(6)
    kinds = ("slope", "strength", "change_4_weeks", "change_8_weeks", "forecast", "session")
    spreads = (0.5, 0.8, 1.0, 1.5, 3.0)
    worlds = [{kind: np.abs(rng.normal(0, s / 1.2816, 20000)) for kind in kinds} for s in spreads]
    found = widths(worlds, worlds)
    shares = [float((world["slope"] <= found.slope_width).mean()) for world in worlds]
    assert shares == sorted(shares, reverse=True)
    assert shares[3] == pytest.approx(0.8, abs=0.01)
    assert shares[4] < 0.6


@pytest.mark.parametrize("name", sorted(UNLIKE))
def test_unlike_worlds_keep_the_contract_and_their_seed(name):
    one, again = (simulate_unlike(name, athletes=3, weeks=12, seed=5) for _ in range(2))
    assert one.sets.equals(again.sets)
    assert schema.breaches(one.sets, schema.SETS).is_empty()
    assert schema.breaches(estimate_sessions(one.sets), schema.SESSIONS).is_empty()
    assert set(one.truth_lifts["regime"].unique()) <= {"progressing", "stalled", "regressing"}
    other = simulate_unlike(name, athletes=3, weeks=12, seed=6)
    assert not one.sets.equals(other.sets)


def test_a_stored_network_says_what_the_fitted_one_says():
    # A column that hardly spreads about a large centre: rounding the centre would move it by many spreads.
    rng = np.random.default_rng(6)
    still = np.where(rng.random(4000) < 0.05, 0.0, np.log1p(52.0))
    inputs = np.column_stack([rng.normal(0.02, 0.01, 4000), still])
    examples = Examples(
        names=("slope", "still"),
        inputs=inputs.astype(np.float32),
        truth=(rng.random(4000) < 0.3).astype(np.intp),
        slope=rng.normal(0.2, 0.1, 4000).astype(np.float32),
        since=np.full(4000, np.nan, dtype=np.float32),
    )
    network = fit_network(examples, Training(hidden=(8, 4), epochs=2, batch=256))
    again = network_from(json.dumps({"lifts": stored(network)}), "lifts")
    features = Features(names=examples.names, values=inputs[None])
    told, told_again = network.corrected(features), again.corrected(features)
    np.testing.assert_allclose(told.chance, told_again.chance, atol=1e-3)
    np.testing.assert_allclose(told.slope, told_again.slope, atol=1e-5)


def test_held_out_worlds_are_held_out_and_the_yardstick_is_never_fitted_to():
    rosters = training_rosters(ROSTERS)
    seen = {name.removeprefix("drawn ") for name, _ in rosters if not held_out(name)}
    assert seen == {"drawn", "mixed", *UNLIKE} - set(HELD_OUT)
    assert len(HELD_OUT) >= 4
    assert {name.removeprefix("drawn ") for name, _ in rosters} == {"drawn", "mixed", *UNLIKE}
    seeds = [seed for _, seed in rosters]
    assert len(set(seeds)) == len(seeds)
    assert 100 <= min(seeds) <= max(seeds) < 900
