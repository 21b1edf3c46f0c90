"""Standing: the word for how a lift stands; in a cut, holding strength is what is asked of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from analytics.charts.look import STATES
from analytics.charts.report import Report
from analytics.review import is_held


@dataclass(frozen=True, kw_only=True)
class Standing:
    """A lift's state in words and in its colour; `held` in a cut or peak phase, whatever the state is."""

    word: str
    colour: str
    held: bool


def standing(report: Report, lift: Mapping[str, Any]) -> Standing:
    """How a row of the lifts or families stands."""
    cuts = report["cuts"].to_dicts()
    if cuts and is_held(lift, cuts[0]["limit_pct_per_week"]):
        return Standing(word=f"held in the {cuts[0]['phase']}", colour=STATES["progressing"][0], held=True)
    colour, _, word = STATES[lift["state"]]
    return Standing(word=word, colour=colour, held=False)
