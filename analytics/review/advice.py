"""Advice: what a coach may try next for one entry of the attention list, and what would change the call.

Every suggestion is a habit of the trade unless a source stands beside it, and is written as a suggestion to a
qualified coach.  CAUTIONS go on every page that carries advice.
"""

from __future__ import annotations

from dataclasses import dataclass

CAUTIONS = (
    "This page is information for a qualified coach. It is no medical advice and no diagnosis.",
    "Pain, dizziness, numbness or a joint that gives way: stop the exercise, and have it seen by a licensed "
    "health professional before loading it again.",
    "An estimated maximum is not a target. A true maximum attempt needs a warm-up, safeties or spotters, and a "
    "rested athlete.",
    "Rapid weight cuts, and athletes under 18 or with a known condition, need supervision by licensed "
    "professionals. Local rules come first.",
)

KINDS = {
    "stalled": "stalled",
    "losing_strength": "losing strength",
    "doubtful": "progress in doubt",
    "too_little_work": "too little work",
    "no_response": "work without response",
    "too_much_work": "more work than it recovers from",
    "behind": "may be behind",
    "fast_weight_loss": "losing bodyweight fast",
    "no_recent_log": "no recent log",
    "unreadable_file": "unreadable file",
    "unlikely_rows": "unlikely rows",
}
"""Kind of an attention entry, and how a page says it."""


@dataclass(frozen=True, kw_only=True)
class Situation:
    """What is known about one subject beyond its trend.

    `weekly_sets` and the aim are fractional sets of its muscle group; `rir_share` is the share of its recent
    hard sets with logged RIR; `weeks_since_easy` counts from the last deload or layoff in the calendar.
    """

    phase: str | None = None
    weekly_sets: float | None = None
    aim_low: float | None = None
    aim_high: float | None = None
    rir_share: float = 0.0
    weeks_since_easy: float | None = None


def suggest(kind: str, situation: Situation) -> str:
    """What to try next: one or two sentences."""
    if kind == "stalled":
        return _stalled(situation)
    if kind == "losing_strength":
        return _losing(situation)
    if kind == "doubtful":
        return _doubtful(situation)
    return _FIXED[kind]


def what_would_change(kind: str, situation: Situation) -> str:
    """What new evidence would overturn the call: one sentence."""
    if kind in ("stalled", "losing_strength", "doubtful"):
        if situation.rir_share < 0.5:
            return "Four more sessions with RIR logged on every hard set: the estimate then knows how hard the sets were."
        return "Three or four sessions whose sets lie above the band at the same RIR."
    return _CHANGE[kind]


def _stalled(s: Situation) -> str:
    if s.phase in ("cut", "peak"):
        return "Keep load and effort, and judge again after the cut: holding strength is the aim now."
    if s.weekly_sets is not None and s.aim_low is not None and s.weekly_sets < s.aim_low:
        # More weekly sets, more growth: Schoenfeld, Ogborn and Krieger 2017, J Sports Sci 35:1073.
        return f"Raise the work first: {s.weekly_sets:.0f} sets a week is below the aim of {s.aim_low:.0f}."
    if s.weeks_since_easy is not None and s.weeks_since_easy >= 8:
        # Competitors deload every 5.6 +/- 2.3 weeks: Rogerson et al. 2024, Sports Med Open 10.
        return f"No easy week for {s.weeks_since_easy:.0f} weeks: plan one, then restart a little below the last loads."
    if s.rir_share < 0.5:
        return "Ask for RIR on every hard set for two weeks; if the sets were easy, raise load or reps before anything else."
    return "Change one thing for four weeks: the rep range, or the exercise within its family, or two more sets a week."


def _losing(s: Situation) -> str:
    if s.phase in ("cut", "peak"):
        return "Check the rate of weight loss, sleep and protein before the plan; keep the loads and drop some sets."
    return "Ask about sleep, illness, pain and stress first; then an easy week, and fewer hard sets until it turns."


def _doubtful(s: Situation) -> str:
    if s.rir_share < 0.5:
        return "Change nothing yet; ask for RIR on every hard set, so that the answer comes sooner."
    return "Change nothing yet; a few more sessions will tell."


_FIXED = {
    "too_little_work": "Add two to four weekly sets for this group, spread over its days, and look again in four weeks.",
    "no_response": "Keep the number of sets; change the exercise or the rep range, and check effort and range of motion.",
    "too_much_work": "Take a third of the sets away for two weeks and see whether reps in reserve come back.",
    "behind": "Watch it for four more weeks before changing the plan; ask for RIR so that the answer comes sooner.",
    # 0.5-1 % a week: Helms, Aragon and Fitschen 2014, JISSN 11:20.
    "fast_weight_loss": "Slow the loss to 0.5 to 1 % of bodyweight a week; a faster cut needs licensed supervision.",
    "no_recent_log": "Ask for the missing export.",
    "unreadable_file": "Mend the file as the message says, or ask for a new export.",
    "unlikely_rows": "Ask the athlete what these sets really were, and mend the export.",
}

_CHANGE = {
    "too_little_work": "Two weeks at the aim, or an aim that is set lower on purpose.",
    "no_response": "Four weeks in which its lifts or its girth move like the other groups.",
    "too_much_work": "A week with fewer sets in which its lifts hold or rise.",
    "behind": "Four more weeks of sessions for this group.",
    "fast_weight_loss": "A week of check-ins inside the band.",
    "no_recent_log": "A new export.",
    "unreadable_file": "A file that can be read.",
    "unlikely_rows": "A corrected row, or the athlete's word that it is right.",
}
