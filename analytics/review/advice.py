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
    "losing_strength": "regressing",
    "doubtful": "unsure, perhaps no progress",
    "too_little_work": "underdosed",
    "no_response": "not responding",
    "too_much_work": "overreaching",
    "behind": "unsure, perhaps lagging",
    "fast_weight_loss": "losing bodyweight fast",
    "no_recent_log": "no recent log",
    "unreadable_file": "unreadable file",
    "unlikely_rows": "unlikely set",
}
"""Kind of an attention entry, and how a page says it: the words of the states wherever there is one."""


WAIT = "Keep the plan"
"""How advice begins that asks for no change."""


@dataclass(frozen=True, kw_only=True)
class Situation:
    """What is known about one subject beyond its trend.

    `weekly_sets` and the aim are fractional sets of its `muscle` group, which may be `underdosed`; `no_response`
    says that it, or a muscle group that this entry tells, does not respond; `rir_share` is the share of its recent
    hard sets with logged RIR; `weeks_since_easy` counts from the last deload or layoff in the calendar;
    `easy_now` says that this week was one; `tried` is what the coach last decided here, with its day.
    """

    phase: str | None = None
    muscle: str = "its muscle group"
    weekly_sets: float | None = None
    aim_low: float | None = None
    aim_high: float | None = None
    underdosed: bool = False
    no_response: bool = False
    rir_share: float = 0.0
    weeks_since_easy: float | None = None
    easy_now: bool = False
    tried: str | None = None


def suggest(kind: str, situation: Situation) -> str:
    """What to try next, after what was tried: one to three sentences."""
    tried = f"Tried {situation.tried}. " if situation.tried else ""
    makers = {
        "stalled": _stalled,
        "losing_strength": _losing,
        "doubtful": _doubtful,
        "too_little_work": _more_work,
    }
    return tried + (makers[kind](situation) if kind in makers else _FIXED[kind])


def what_would_change(kind: str, situation: Situation) -> str:
    """What new evidence would overturn the call: one sentence."""
    if kind in ("stalled", "losing_strength", "doubtful"):
        if situation.rir_share < _MOSTLY_LOGGED:
            return (
                "Four more sessions with RIR on every hard set: the estimate then knows how hard they were."
            )
        return "Three or four sessions whose sets lie above the line on its chart at the same RIR."
    return _CHANGE[kind]


_MOSTLY_LOGGED = 0.8


def _stalled(s: Situation) -> str:
    if s.easy_now:
        return "An easy week was just done: judge the next three sessions before changing anything."
    if s.weekly_sets is not None and s.aim_low is not None and s.weekly_sets < s.aim_low:
        # More weekly sets, more growth: Schoenfeld, Ogborn and Krieger 2017, J Sports Sci 35:1073.
        return _raise_first(s.muscle, s.weekly_sets, s.aim_low)
    if s.weeks_since_easy is not None and s.weeks_since_easy >= 8:
        # Competitors deload every 5.6 +/- 2.3 weeks: Rogerson et al. 2024, Sports Med Open 10.
        return f"No easy week for {s.weeks_since_easy:.0f} weeks: plan one, then restart a little below the last loads."
    if s.rir_share < 0.5:
        return "Ask for RIR on every hard set for two weeks; if the sets were easy, raise load or reps before anything else."
    return "Change one thing for four weeks: the rep range, or the exercise within its family, or two more sets a week."


def _losing(s: Situation) -> str:
    seen = "Pain or illness behind it: have it seen by a licensed professional first. "
    if s.phase in ("cut", "peak"):
        return (
            seen
            + "Check the rate of weight loss, sleep and protein before the plan; keep the loads and drop some sets."
        )
    if s.easy_now:
        return (
            seen
            + "An easy week was just done: judge the next three sessions; if they stay below the line on its chart, a third fewer sets for two weeks."
        )
    return seen + "Ask about sleep and stress; then an easy week, and a third fewer hard sets until it turns."


def _raise_first(muscle: str, sets: float, aim: float) -> str:
    return f"Raise the work first: {_sets(sets)} sets a week for {muscle}, below the aim of {_sets(aim)}."


def _sets(count: float) -> str:
    return f"{count:.1f}".removesuffix(".0")


def _doubtful(s: Situation) -> str:
    if s.underdosed and s.weekly_sets is not None and s.aim_low is not None:
        return _raise_first(s.muscle, s.weekly_sets, s.aim_low)
    if s.no_response:
        return _FIXED["no_response"]
    if s.rir_share < _MOSTLY_LOGGED:
        return f"{WAIT}; ask for RIR on every hard set, so that the answer comes sooner."
    return f"{WAIT}; look again in four weeks."


def _more_work(s: Situation) -> str:
    if s.weekly_sets is None or s.aim_low is None:
        return (
            "Add two to four weekly sets for this group, spread over two days, and look again in four weeks."
        )
    return (
        f"From {_sets(s.weekly_sets)} to {_sets(s.aim_low)} sets a week in two steps over four weeks, on at least two days, "
        "or set the aim lower on purpose."
    )


_FIXED = {
    "no_response": "Keep the number of sets; change the exercise or the rep range, and check effort and range of motion.",
    "too_much_work": "Take a third of the sets away for two weeks and see whether reps in reserve come back.",
    "behind": f"{WAIT}; look again in four weeks.",
    # 0.5-1 % a week: Helms, Aragon and Fitschen 2014, JISSN 11:20.
    "fast_weight_loss": "Slow the loss to 0.5 to 1 % of bodyweight a week; a faster cut needs licensed supervision.",
    "no_recent_log": "Ask for the missing export.",
    "unreadable_file": "Mend the file as the message says, or ask for a new export.",
    "unlikely_rows": "Ask the athlete what these sets really were, and mend the export.",
}

_CHANGE = {
    "too_little_work": "Four weeks at the aim.",
    "no_response": "Four weeks in which its lifts or its girth move like the other groups.",
    "too_much_work": "A week with fewer sets in which its lifts hold or rise.",
    "behind": "Four more weeks of sessions for this group.",
    "fast_weight_loss": "A week of check-ins inside the band.",
    "no_recent_log": "A new export.",
    "unreadable_file": "A file that can be read.",
    "unlikely_rows": "A corrected row, or the athlete's word that it is right.",
}
