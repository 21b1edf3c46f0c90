"""Strength: the set table becomes one estimate of the one-repetition maximum per exercise and day."""

from analytics.strength.formulas import FORMULAS, Formula
from analytics.strength.notes import estimate_notes
from analytics.strength.sessions import estimate_sessions

__all__ = ["FORMULAS", "Formula", "estimate_notes", "estimate_sessions"]
