from dataclasses import replace
from datetime import date

import pytest

from analytics.trend.why import Evidence, sentence

SURE = Evidence(
    state="stalled",
    sessions=26,
    weeks=25.2,
    slope=-0.001,
    slope_low=-0.2,
    slope_high=0.19,
    chances=(0.2, 0.7, 0.1),
    since=date(2026, 8, 9),
    idle_weeks=0.0,
    weeks_to_tell=16,
    weeks_to_tell_with_rir=16,
    rir_share=1.0,
)


def test_a_call_is_told_with_its_numbers_and_its_beginning():
    assert sentence(SURE) == (
        "26 sessions over 25 weeks, +0.00 % a week (80 %: -0.20 to +0.19): "
        "stalled since about 9 Aug 2026 with probability 0.70."
    )


@pytest.mark.parametrize(
    ("weeks_to_tell", "words"),
    [
        (30, "about 5 more weeks of such sessions would tell"),
        (16, "too near to zero to name"),
        (999, "stay open"),
    ],
)
def test_no_call_says_how_far_the_answer_is(weeks_to_tell, words):
    unsure = replace(SURE, state="unsure", since=None, weeks_to_tell=weeks_to_tell)
    text = sentence(replace(unsure, weeks_to_tell_with_rir=weeks_to_tell))
    assert "no sure call (progressing 0.20, stalled 0.70, regressing 0.10)" in text
    assert words in text


def test_what_rir_would_buy_is_told_only_where_it_is_not_logged():
    cheaper = replace(SURE, state="unsure", since=None, weeks_to_tell_with_rir=11, slope=0.3)
    assert "RIR" not in sentence(cheaper)
    assert "with RIR on every set 11 weeks instead of 16 would do for 0.30 % a week" in sentence(
        replace(cheaper, rir_share=0.2)
    )
    assert "RIR" not in sentence(replace(SURE, weeks_to_tell_with_rir=11, rir_share=0.2))
