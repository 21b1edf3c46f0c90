"""Sections: the parts of the pages, each a list of words, tables and figures in reading order."""

from analytics.publish.sections import roster
from analytics.publish.sections.blocks import load_tables
from analytics.publish.sections.opening import attention, opening
from analytics.publish.sections.outcomes import outcomes
from analytics.publish.sections.source import data, method
from analytics.publish.sections.strength import families, lifts
from analytics.publish.sections.work import body, effort, muscles

__all__ = [
    "attention",
    "body",
    "data",
    "effort",
    "families",
    "lifts",
    "load_tables",
    "method",
    "muscles",
    "opening",
    "outcomes",
    "roster",
]
