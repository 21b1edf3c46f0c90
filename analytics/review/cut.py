"""Cut: how much strength is held while bodyweight comes down, one row per athlete in a cut or peak phase."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import polars as pl
from scipy.special import ndtr

from analytics.muscles.bodyweight import LOSING_PHASES
from analytics.muscles.states import FORCE_EXPONENT, HOLD_MARGIN_PCT_PER_WEEK
from analytics.review.evidence import Evidence, latest_weights
from analytics.schema import CUTS, Z80, conform

HELD_BELOW = 0.5
"""A lift is held while losing more than bodyweight explains is less likely than this."""
_LOST = 0.8


def loss_limits(evidence: Evidence) -> dict[str, float]:
    """Slope below which strength falls faster than bodyweight explains, % a week, by athlete in a cut."""
    rates = {row["athlete"]: row["pct_per_week"] for row in latest_weights(evidence)}
    lean = [a.id for a in evidence.roster.athletes if a.phase_on(evidence.as_of) in LOSING_PHASES]
    return {one: min(FORCE_EXPONENT * rates.get(one, 0.0), 0.0) - HOLD_MARGIN_PCT_PER_WEEK for one in lean}


def probability_below(row: Mapping[str, Any], limit: float) -> float:
    """Probability that a row's slope lies below `limit`, both in % a week, from its 80 % interval."""
    sd = (row["slope_high"] - row["slope_low"]) / (2 * Z80)
    return float(ndtr((limit - row["slope_pct_per_week"]) / max(sd, 1e-9)))


def is_held(row: Mapping[str, Any], limit: float) -> bool:
    """Whether a lift is probably held in a cut: it loses no faster than bodyweight explains."""
    return probability_below(row, limit) < HELD_BELOW


def cuts(evidence: Evidence) -> pl.DataFrame:
    """schema.CUTS: lifts that are probably held, and those that are clearly lost, with the weakest of all.

    The weakest is the likeliest to be lost, to the percent; of several, the one with the lowest slope.
    """
    limits, rows = loss_limits(evidence), []
    for athlete, limit in limits.items():
        person = evidence.roster.athlete(athlete)
        phase = [one for one in person.phases if one.start <= evidence.as_of][-1]
        own = evidence.lifts.filter(pl.col("athlete") == athlete).to_dicts()
        if not own:
            continue
        chances = [probability_below(row, limit) for row in own]
        worst = max(
            zip(chances, own, strict=True),
            key=lambda one: (round(one[0], 2), -one[1]["slope_pct_per_week"], one[1]["exercise"]),
        )
        rows.append(
            {
                "athlete": athlete,
                "phase": phase.name,
                "since": phase.start,
                "weeks": (evidence.as_of - phase.start).days // 7 + 1,
                "lifts": len(own),
                "held": sum(chance < HELD_BELOW for chance in chances),
                "lost": sum(chance >= _LOST for chance in chances),
                "weakest": worst[1]["exercise"],
                "limit_pct_per_week": limit,
            }
        )
    return conform(pl.DataFrame(rows), CUTS) if rows else CUTS.empty()
