import dataclasses

import numpy as np
import pytest
from scipy.linalg import expm

from analytics.muscles.pooling import MARGIN_PCT_PER_WEEK, Slopes, pool_responses
from analytics.muscles.response import PRIOR_PCT, PRIOR_SD, without_prior
from analytics.trend.regimes import default_regimes


def slopes(values, errors, shares, shortfall=None, girth=None) -> Slopes:
    """One athlete: slope and error of each row, and its shares of each group (1 or more: prime mover)."""
    share = np.asarray(shares, dtype=float)
    groups = share.shape[1]
    return Slopes(
        slope=np.array([values], dtype=float),
        variance=np.square([errors]),
        girth=np.array([girth or [False] * len(values)]),
        share=(share / share.sum(axis=1, keepdims=True))[None],
        prime=(share >= 1)[None] & ~np.array(girth or [False] * len(values))[None, :, None],
        shortfall=np.zeros((1, groups)) if shortfall is None else np.array([shortfall], dtype=float),
        used=np.ones((1, len(values)), dtype=bool),
    )


ALONE = np.eye(4)


def test_a_group_far_behind_lags_and_one_ahead_does_not():
    found = pool_responses(slopes([-0.3, 0.3, 0.3, 0.4], [0.05] * 4, ALONE))
    assert found.p_lagging[0, 0] > 0.99
    assert found.p_lagging[0, 3] < 0.01
    assert found.mean[0, 0] == pytest.approx(-0.3, abs=0.05)
    assert found.others[0, 0] == pytest.approx(1 / 3, abs=0.05)


def test_noise_draws_a_group_towards_the_others():
    sure = pool_responses(slopes([-0.3, 0.3, 0.3, 0.4], [0.05] * 4, ALONE))
    loose = pool_responses(slopes([-0.3, 0.3, 0.3, 0.4], [0.4] * 4, ALONE))
    assert sure.mean[0, 0] < loose.mean[0, 0] < 0.3
    assert loose.p_lagging[0, 0] < sure.p_lagging[0, 0]


def test_without_any_evidence_every_group_keeps_one_base_rate():
    empty = slopes([0.0, 0.0, 0.0, 0.0], [1.0] * 4, ALONE)
    empty = dataclasses.replace(empty, used=np.zeros((1, 4), dtype=bool))
    p = pool_responses(empty).p_lagging[0]
    assert p == pytest.approx([p[0]] * 4)
    assert 0.05 < p[0] < 0.5


def test_too_few_sets_are_evidence_of_their_own():
    none = pool_responses(slopes([0.2] * 3, [0.3] * 3, np.eye(4)[:3]))
    short = pool_responses(slopes([0.2] * 3, [0.3] * 3, np.eye(4)[:3], shortfall=[0, 0, 0, 1]))
    assert short.p_lagging[0, 3] > none.p_lagging[0, 3] + 0.1
    assert short.p_lagging[0, 0] == pytest.approx(none.p_lagging[0, 0], abs=0.05)


def test_a_girth_speaks_for_a_group_without_lifts():
    rows = np.vstack([np.eye(4)[:3], np.eye(4)])
    tape = [False] * 3 + [True] * 4
    behind = pool_responses(slopes([0.2] * 3 + [0.3, 0.3, 0.3, -0.5], [0.1] * 7, rows, girth=tape))
    level = pool_responses(slopes([0.2] * 3 + [0.3, 0.3, 0.3, 0.3], [0.1] * 7, rows, girth=tape))
    assert behind.p_lagging[0, 3] > 0.7
    assert level.p_lagging[0, 3] < 0.25


def test_all_girths_growing_alike_say_nothing():
    rows = np.vstack([np.eye(4), np.eye(4)])
    tape = [False] * 4 + [True] * 4
    slow = pool_responses(slopes([0.2] * 4 + [0.0] * 4, [0.1] * 8, rows, girth=tape))
    fast = pool_responses(slopes([0.2] * 4 + [0.6] * 4, [0.1] * 8, rows, girth=tape))
    assert slow.p_lagging == pytest.approx(fast.p_lagging, abs=0.01)
    assert slow.mean == pytest.approx(fast.mean, abs=0.01)


def test_a_larger_margin_is_passed_less_often():
    rows = slopes([0.0, 0.3, 0.3, 0.4], [0.15] * 4, ALONE)
    p = [pool_responses(rows, margin).p_lagging[0, 0] for margin in (0.0, MARGIN_PCT_PER_WEEK, 0.3)]
    assert p[0] > p[1] > p[2]


def test_shifting_every_lift_shifts_every_response():
    # Law, where the sessions outweigh the prior of the mean.
    before = pool_responses(slopes([0.0, 0.1, 0.2, 0.3], [0.02] * 4, ALONE))
    after = pool_responses(slopes([0.1, 0.2, 0.3, 0.4], [0.02] * 4, ALONE))
    assert after.mean - before.mean == pytest.approx(np.full((1, 4), 0.1), abs=0.01)
    assert after.p_lagging == pytest.approx(before.p_lagging, abs=0.02)


def test_athletes_do_not_lend_to_each_other():
    one = slopes([-0.3, 0.3, 0.3, 0.4], [0.1] * 4, ALONE)
    other = slopes([1.0, 1.5, 0.2, -2.0], [0.3] * 4, ALONE)
    both = Slopes(
        **{
            field.name: np.concatenate([getattr(one, field.name), getattr(other, field.name)])
            for field in dataclasses.fields(Slopes)
        }
    )
    assert pool_responses(both).p_lagging[0] == pytest.approx(pool_responses(one).p_lagging[0], abs=1e-12)


def test_probabilities_are_calibrated_where_the_model_holds():
    # Groups and lifts drawn from the priors of the model: what has probability p happens that often.
    generator = np.random.default_rng(7)
    cases, groups, each = 400, 8, 2
    tau, sigma = np.abs(generator.normal(0, 0.2, cases)), np.abs(generator.normal(0, 0.4, cases))
    effect = tau[:, None] * generator.normal(size=(cases, groups))
    own = sigma[:, None, None] * generator.normal(size=(cases, groups, each))
    true = 0.2 + effect[:, :, None] + own
    error = np.exp(generator.normal(np.log(0.2), 0.4, true.shape))
    seen = (true + error * generator.normal(size=true.shape)).reshape(cases, -1)
    share = np.repeat(np.eye(groups), each, axis=0)[None].repeat(cases, axis=0)
    found = pool_responses(
        Slopes(
            slope=seen,
            variance=error.reshape(cases, -1) ** 2,
            girth=np.zeros(seen.shape, dtype=bool),
            share=share,
            prime=share > 0,
            shortfall=np.zeros((cases, groups)),
            used=np.ones(seen.shape, dtype=bool),
        )
    )
    response = true.mean(axis=2)
    others = (response.sum(axis=1, keepdims=True) - response) / (groups - 1)
    lagging = response - others < -MARGIN_PCT_PER_WEEK
    for low in np.arange(0, 1, 0.2):
        here = (found.p_lagging >= low) & (found.p_lagging < low + 0.2)
        noise = 3 * np.sqrt(0.25 / here.sum())
        assert lagging[here].mean() == pytest.approx(found.p_lagging[here].mean(), abs=noise)
    inside = np.abs(response - found.mean) <= 1.2816 * found.sd
    assert inside.mean() == pytest.approx(0.8, abs=0.03)


def test_taking_the_prior_out_gives_the_observation_back():
    # Normal prior times normal likelihood (algebra).
    generator = np.random.default_rng(3)
    slope, error = generator.normal(0.2, 0.5, 500), generator.uniform(0.05, 1.0, 500)
    precision = 1 / error**2 + 1 / PRIOR_SD**2
    mean = (slope / error**2 + PRIOR_PCT / PRIOR_SD**2) / precision
    again, error_again = without_prior(mean, 1 / np.sqrt(precision))
    assert again == pytest.approx(slope)
    assert error_again == pytest.approx(error)


def test_the_prior_is_the_one_of_the_trend():
    regimes = default_regimes()
    flow = regimes.leave_per_week[:, None] * regimes.enter
    mix = regimes.prior @ expm(26 * (flow - np.diag(flow.sum(axis=1))))
    mean = 100 * (mix @ regimes.slope)
    assert pytest.approx(mean, abs=0.1) == PRIOR_PCT
    assert pytest.approx(np.sqrt(1e4 * mix @ regimes.slope**2 - mean**2), abs=0.1) == PRIOR_SD


@pytest.mark.parametrize("mean, sd", [(0.2, 5.0), (0.0, 0.0), (9.0, 0.1), (-9.0, 3.0)])
def test_odd_posteriors_stay_finite(mean, sd):
    slope, error = without_prior(np.array([mean]), np.array([sd]))
    assert np.isfinite(slope).all()
    assert error[0] > 0
