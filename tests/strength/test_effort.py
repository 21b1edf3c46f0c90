"""Effort: sets far from failure say less, and do not say more for being many."""

import numpy as np
import pytest

from analytics.strength import estimate_sessions
from analytics.strength.curve import log_ratio_per_rep

from .test_sessions import set_rows


def noise(*sets):
    return estimate_sessions(set_rows(*sets))["log_noise"].item()


def easy(count, rir=6.0):
    return [("working", 100.0, 6, rir)] * count


def hard(count):
    return [("working", 100.0, 8, 1.0)] * count


def test_far_from_failure_a_set_tells_less():
    # Hackett et al. 2017: with 7 to 10 repetitions left the guess is off by over two, near failure by one.
    assert noise(*easy(1)) > 2 * log_ratio_per_rep(12.0)
    assert noise(*hard(1)) < 1 * log_ratio_per_rep(9.0)


def test_many_easy_sets_are_still_one_easy_day():
    # What is wrong about an easy day is the same for all its sets and does not average out.
    assert noise(*easy(10)) > log_ratio_per_rep(12.0)
    assert noise(*hard(10)) < 0.5 * log_ratio_per_rep(9.0)


@pytest.mark.parametrize("rir", [5.0, 7.0])
def test_a_hard_set_outweighs_an_easy_one_of_its_day(rir):
    kg = {}
    for name, sets in (
        ("hard", [*hard(1)]),
        ("easy", [("working", 60.0, 6, rir)]),
        ("both", [*hard(1), ("working", 60.0, 6, rir)]),
    ):
        kg[name] = np.log(estimate_sessions(set_rows(*sets))["e1rm_kg"].item())
    assert abs(kg["both"] - kg["hard"]) < 0.25 * abs(kg["easy"] - kg["hard"])


def test_each_repetition_left_tells_a_little_less_and_from_five_on_much_less():
    near = [noise(*easy(3, float(rir))) for rir in range(5)]
    far = [noise(*easy(3, float(rir))) for rir in range(5, 10)]
    assert near == sorted(near)
    assert min(far) > 1.5 * max(near)
