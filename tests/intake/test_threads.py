"""Threads: order, nesting and failures of steps that run side by side; invented steps, for mechanics."""

import threading
from functools import partial

import polars as pl
import pytest

from analytics.intake.threads import MANY_ROWS, ahead, side_by_side

SEVERAL = pytest.mark.skipif(pl.thread_pool_size() < 2, reason="one thread only, nothing runs side by side")


def here(told=None):
    return told, threading.get_ident()


def test_results_come_in_the_order_of_the_steps():
    steps = [partial(here, number) for number in range(20)]
    assert [told for told, _ in side_by_side(steps, MANY_ROWS)] == list(range(20))
    assert [told for told, _ in ahead(steps)] == list(range(20))


def test_few_rows_stay_in_their_thread():
    assert {thread for _, thread in side_by_side([here] * 4, MANY_ROWS - 1)} == {threading.get_ident()}


@SEVERAL
def test_the_threads_of_one_call_are_those_of_the_next():
    threads = [{thread for _, thread in side_by_side([here] * 50, MANY_ROWS)} for _ in range(8)]
    assert threading.get_ident() not in set.union(*threads)
    assert len(set.union(*threads)) <= pl.thread_pool_size()


@SEVERAL
def test_steps_within_steps_do_not_wait_for_each_other():
    def outer():
        return [told for told, _ in side_by_side([partial(here, n) for n in range(5)], MANY_ROWS)]

    assert side_by_side([outer] * 6, MANY_ROWS) == [[0, 1, 2, 3, 4]] * 6


def test_what_a_step_ahead_does_stays_in_its_thread():
    def outer():
        return {thread for _, thread in side_by_side([here] * 3, MANY_ROWS)} == {threading.get_ident()}

    assert all(ahead([outer] * 6))


def test_a_failure_is_told_in_its_turn_and_the_threads_go_on():
    def broken():
        raise ValueError("on purpose")

    found = ahead([here, broken, *[here] * 10])
    next(found)
    with pytest.raises(ValueError, match="on purpose"):
        next(found)
    with pytest.raises(ValueError, match="on purpose"):
        side_by_side([here, broken], MANY_ROWS)
    assert len(list(ahead([here] * 5))) == 5


def test_steps_that_nobody_waits_for_are_not_begun():
    begun = []
    found = ahead(partial(begun.append, number) for number in range(100))
    next(found)
    found.close()
    assert len(begun) <= pl.thread_pool_size() + 2
