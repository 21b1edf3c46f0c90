"""Muscles: weekly work, response, balance, bodyweight and session load of each athlete."""

from analytics.muscles.balance import BalanceInputs, balance
from analytics.muscles.bodyweight import bodyweight
from analytics.muscles.counts import count_weeks, uncounted, weeks_known
from analytics.muscles.judgement import MuscleInputs, judge_muscles
from analytics.muscles.load import session_load

__all__ = [
    "BalanceInputs",
    "MuscleInputs",
    "balance",
    "bodyweight",
    "count_weeks",
    "judge_muscles",
    "session_load",
    "uncounted",
    "weeks_known",
]
