import dataclasses

import numpy as np
import pytest

from analytics.muscles.pooling import MARGIN_PCT_PER_WEEK, SHARED_ERROR, Evidence, pool_responses

ALONE = np.eye(4)


def evidence(slopes, errors, prime=ALONE, girths=(), shortfall=None) -> Evidence:
    """One athlete: slope and error of each lift, its prime movers; growth, error and groups of each girth."""
    prime = np.atleast_2d(np.asarray(prime, dtype=float))
    groups = prime.shape[1]
    under = np.array([girth[2] for girth in girths], dtype=float).reshape(-1, groups)
    return Evidence(
        slope=np.array([slopes], dtype=float),
        error=np.array([errors], dtype=float),
        lifted=np.ones((1, len(slopes)), dtype=bool),
        prime=prime[None, : len(slopes)],
        growth=np.array([[girth[0] for girth in girths]], dtype=float),
        growth_error=np.array([[girth[1] for girth in girths]], dtype=float),
        taped=np.ones((1, len(girths)), dtype=bool),
        under=(under / np.maximum(under.sum(axis=1, keepdims=True), 1))[None],
        shortfall=np.zeros((1, groups)) if shortfall is None else np.array([shortfall], dtype=float),
    )


def tapes(*growth, error=0.1):
    return [(value, error, row) for value, row in zip(growth, ALONE, strict=True)]


def test_a_group_far_behind_lags_and_one_ahead_does_not():
    found = pool_responses(evidence([-0.3, 0.3, 0.3, 0.4], [0.05] * 4))
    assert found.p_lagging[0, 0] > 0.99
    assert found.p_lagging[0, 3] < 0.01
    assert found.mean[0] == pytest.approx([-0.3, 0.3, 0.3, 0.4])
    assert found.others[0, 0] == pytest.approx(1 / 3)


def test_a_group_is_the_mean_of_the_lifts_that_it_moves():
    prime = [[1, 0], [1, 0], [0, 1], [0, 1]]
    found = pool_responses(evidence([0.1, 0.3, 0.2, 0.6], [0.1, 0.3, 0.2, 0.2], prime))
    assert found.mean[0] == pytest.approx([0.2, 0.4])
    # By hand: shared errors add up, own errors average out.
    shared, own = SHARED_ERROR * 0.2**2, (1 - SHARED_ERROR) * (0.1**2 + 0.3**2) / 4
    assert found.sd[0, 0] == pytest.approx(np.sqrt(shared + own), rel=1e-4)


def test_more_lifts_and_smaller_errors_make_surer():
    one = pool_responses(evidence([0.0, 0.3, 0.3, 0.4], [0.2] * 4)).p_lagging[0, 0]
    sharp = pool_responses(evidence([0.0, 0.3, 0.3, 0.4], [0.1] * 4)).p_lagging[0, 0]
    prime = np.vstack([ALONE, ALONE[:1]])
    two = pool_responses(evidence([0.0, 0.3, 0.3, 0.4, 0.0], [0.2] * 5, prime)).p_lagging[0, 0]
    assert 0.5 < one < two < 1
    assert one < sharp


def test_without_any_evidence_every_group_keeps_one_base_rate():
    empty = dataclasses.replace(evidence([0.0] * 4, [0.0] * 4), lifted=np.zeros((1, 4), dtype=bool))
    found = pool_responses(empty)
    assert found.p_lagging[0] == pytest.approx([found.p_lagging[0, 0]] * 4)
    assert 0.2 < found.p_lagging[0, 0] < 0.35


def test_a_group_without_lifts_follows_the_athlete():
    found = pool_responses(evidence([0.1, 0.3, 0.5], [0.02] * 3, ALONE))
    assert found.mean[0, 3] == pytest.approx(0.3)
    assert 0.2 < found.p_lagging[0, 3] < 0.3


def test_too_few_sets_count_for_a_group_without_lifts():
    enough = pool_responses(evidence([0.2] * 3, [0.1] * 3, ALONE))
    short = pool_responses(evidence([0.2] * 3, [0.1] * 3, ALONE, shortfall=[0, 0, 0, 1]))
    assert short.p_lagging[0, 3] > enough.p_lagging[0, 3] + 0.2
    assert short.p_lagging[0, :3] == pytest.approx(enough.p_lagging[0, :3])


def test_a_girth_speaks_for_a_group_without_lifts():
    lifts = ([0.2] * 3, [0.1] * 3, ALONE)
    behind = pool_responses(evidence(*lifts, girths=tapes(0.3, 0.3, 0.3, -0.5)))
    level = pool_responses(evidence(*lifts, girths=tapes(0.3, 0.3, 0.3, 0.3)))
    assert behind.p_lagging[0, 3] > 0.9
    assert level.p_lagging[0, 3] < 0.2


def test_a_girth_weighs_as_its_error_says():
    loose = pool_responses(evidence([0.2] * 4, [0.1] * 4, girths=tapes(0.3, 0.3, 0.3, -0.5, error=9.0)))
    without = pool_responses(evidence([0.2] * 4, [0.1] * 4))
    assert loose.p_lagging == pytest.approx(without.p_lagging, abs=1e-3)


def test_a_girth_over_two_groups_moves_both():
    girths = [(0.3, 0.1, [1, 1, 0, 0]), (-0.5, 0.1, [0, 0, 1, 1])]
    found = pool_responses(evidence([0.2] * 4, [0.1] * 4, girths=girths))
    assert found.p_lagging[0, 2] == pytest.approx(found.p_lagging[0, 3])
    assert found.p_lagging[0, 2] > found.p_lagging[0, 0] + 0.2


def test_all_girths_growing_alike_say_nothing():
    # The athlete's level of growth is free but for a weak prior.
    slow = pool_responses(evidence([0.2] * 4, [0.1] * 4, girths=tapes(0.0, 0.0, 0.0, 0.0)))
    fast = pool_responses(evidence([0.2] * 4, [0.1] * 4, girths=tapes(0.6, 0.6, 0.6, 0.6)))
    assert slow.p_lagging == pytest.approx(fast.p_lagging, abs=1e-6)


def test_a_larger_margin_is_passed_less_often():
    rows = evidence([0.0, 0.3, 0.3, 0.4], [0.15] * 4)
    p = [pool_responses(rows, margin).p_lagging[0, 0] for margin in (0.0, MARGIN_PCT_PER_WEEK, 0.3)]
    assert p[0] > p[1] > p[2]


def test_shifting_every_lift_shifts_every_response():
    before = pool_responses(evidence([0.0, 0.1, 0.2, 0.3], [0.2] * 4))
    after = pool_responses(evidence([0.5, 0.6, 0.7, 0.8], [0.2] * 4))
    assert after.mean - before.mean == pytest.approx(np.full((1, 4), 0.5))
    assert after.p_lagging == pytest.approx(before.p_lagging)


def test_athletes_do_not_lend_to_each_other():
    one = evidence([-0.3, 0.3, 0.3, 0.4], [0.1] * 4, girths=tapes(0.1, 0.2, 0.1, 0.0))
    other = evidence([1.0, 1.5, 0.2, -2.0], [0.3] * 4, girths=tapes(-0.1, 0.4, 0.1, 0.0))
    both = Evidence(
        **{
            field.name: np.concatenate([getattr(one, field.name), getattr(other, field.name)])
            for field in dataclasses.fields(Evidence)
        }
    )
    assert (pool_responses(both).p_lagging[0] == pool_responses(one).p_lagging[0]).all()


def test_probabilities_are_calibrated_where_the_model_holds():
    # True slopes drawn about the trend's by the model itself: what has probability p happens that often.
    generator = np.random.default_rng(7)
    cases, groups, each = 500, 8, 2
    slope = generator.normal(0.15, 0.2, (cases, groups * each))
    error = np.exp(generator.normal(np.log(0.18), 0.3, slope.shape))
    shared, own = generator.normal(size=(cases, 1)), generator.normal(size=slope.shape)
    true = slope + error * (np.sqrt(SHARED_ERROR) * shared + np.sqrt(1 - SHARED_ERROR) * own)
    response = true.reshape(cases, groups, each).mean(axis=2)
    tape = response + 0.1 + 0.2 * generator.normal(size=response.shape)
    found = pool_responses(
        Evidence(
            slope=slope,
            error=error,
            lifted=np.ones(slope.shape, dtype=bool),
            prime=np.repeat(np.eye(groups), each, axis=0)[None].repeat(cases, axis=0),
            growth=tape,
            growth_error=np.full(tape.shape, 0.2),
            taped=np.ones(tape.shape, dtype=bool),
            under=np.eye(groups)[None].repeat(cases, axis=0),
            shortfall=np.zeros((cases, groups)),
        )
    )
    others = (response.sum(axis=1, keepdims=True) - response) / (groups - 1)
    lagging = response - others < -MARGIN_PCT_PER_WEEK
    for low in np.arange(0, 1, 0.2):
        here = (found.p_lagging >= low) & (found.p_lagging < low + 0.2)
        noise = 3 * np.sqrt(0.25 / here.sum())
        assert lagging[here].mean() == pytest.approx(found.p_lagging[here].mean(), abs=noise)
    inside = np.abs(response - found.mean) <= 1.2816 * found.sd
    assert inside.mean() == pytest.approx(0.8, abs=0.03)
