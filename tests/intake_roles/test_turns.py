"""What earlier days say of a lift, beside the exponential and cumulative means of Polars and pandas."""

from itertools import pairwise

import numpy as np
import pandas as pd
import polars as pl
from hypothesis import given
from hypothesis import strategies as st

from analytics.intake.table.inference import _HABIT_LIMIT, _HABIT_SHRINK, _USUAL_SPAN, _habit, _usual
from analytics.intake.table.turns import over_stretches, turns

WHO = st.lists(st.one_of(st.integers(0, 5), st.integers(65_530, 65_540)), max_size=60).map(np.array)


@given(WHO)
def test_every_value_has_its_turn_once(who):
    seen = list(turns(who))
    assert sorted(int(i) for at in seen for i in at) == list(range(len(who)))
    for before, at in pairwise(seen):
        assert (who[before[: len(at)]] == who[at]).all()
        assert (before[: len(at)] < at).all()


@given(WHO.filter(len), st.randoms(use_true_random=False))
def test_the_usual_is_the_exponential_mean_of_earlier_days(who, random):
    best = np.array([random.uniform(2, 6) for _ in who])
    ours = _usual(who, best)
    frame = pl.DataFrame({"who": who, "best": best})
    theirs = frame.select(pl.col("best").shift(1).ewm_mean(span=_USUAL_SPAN, ignore_nulls=True).over("who"))
    np.testing.assert_allclose(ours, theirs.to_series().fill_null(np.nan).to_numpy(), rtol=1e-12)
    by_pandas = pd.Series(best).groupby(who).transform(lambda x: x.shift(1).ewm(span=_USUAL_SPAN).mean())
    np.testing.assert_allclose(ours, by_pandas.to_numpy(), rtol=1e-12)


@given(WHO.filter(len), st.randoms(use_true_random=False))
def test_the_habit_is_the_shrunken_mean_of_earlier_days(who, random):
    day = np.arange(len(who))
    odds = np.array([random.uniform(-5, 5) for _ in who])
    capped = pd.Series(np.clip(odds, -_HABIT_LIMIT, _HABIT_LIMIT))
    earlier = capped.groupby(who).cumcount()
    expected = (capped.groupby(who).cumsum() - capped) / (earlier + _HABIT_SHRINK)
    np.testing.assert_allclose(_habit(who, day, odds), expected.to_numpy(), atol=1e-12)


def test_extremes_of_stretches():
    values = np.array([3.0, 0.0, np.inf, 7.5, 2.0])
    starts = np.array([0, 2, 3])
    assert over_stretches(np.maximum, values, starts).tolist() == [3.0, np.inf, 7.5]
    assert over_stretches(np.minimum, values, starts).tolist() == [0.0, np.inf, 2.0]
