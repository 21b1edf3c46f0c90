"""From all tables to the coach's list, what changed since last week, and what to try with which cautions."""

from analytics.review.advice import CAUTIONS, KINDS, WAIT
from analytics.review.attention import attention_list, cut_list, weigh_candidates
from analytics.review.candidates import COUNTED
from analytics.review.changes import changes_between
from analytics.review.cut import cuts, is_held
from analytics.review.evidence import Evidence
from analytics.review.headlines import headlines
from analytics.review.quality import quality

__all__ = [
    "CAUTIONS",
    "COUNTED",
    "KINDS",
    "WAIT",
    "Evidence",
    "attention_list",
    "changes_between",
    "cut_list",
    "cuts",
    "headlines",
    "is_held",
    "quality",
    "weigh_candidates",
]
