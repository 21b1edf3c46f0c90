"""Words: the sentence that says why a muscle group has its state, with its numbers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analytics.muscles.norms import PREP_REPS, prep_band, volume_band
from analytics.muscles.states import FLOOR_SETS, GAIN_PCT_PER_WEEK, JUMP, LIKELY
from analytics.wording import signed

_SAID = {
    "responding": "responding",
    "underdosed": "underdosed",
    "not_responding": "not responding",
    "overreaching": "overreaching",
    "unsure": "unsure",
}


def say_why(row: Mapping[str, Any]) -> str:
    """Evidence for one athlete's muscle group, in one sentence and its notes."""
    clauses = [_sets(row), _response(row)]
    if row["girth_pct_per_week"] is not None:
        clauses.append(f"girth {signed(row['girth_pct_per_week'])} % a week beyond what bodyweight explains")
    base = " (its base rate)" if row["lifts"] == 0 and row["girth_pct_per_week"] is None else ""
    clauses.append(f"lags with probability {_chance(row['p_lagging'])}{base}")
    return "; ".join(clauses) + "." + "".join(f" {note}" for note in _notes(row))


def _sets(row: Mapping[str, Any]) -> str:
    low, high = f"{row['weekly_sets_low']:.1f}", f"{row['weekly_sets_high']:.1f}"
    sets = f"{row['weekly_sets']:.1f} fractional sets a week"
    if low != high:
        sets = f"{sets} ({low} to {high} by other readings)"
    if row["aim_low"] is not None:
        lead = "Too few sets" if row["weekly_sets"] < row["aim_low"] else "Enough sets"
        lead = "Many sets" if row["weekly_sets"] > row["aim_high"] else lead
        return f"{lead}: {sets}, aim {row['aim_low']:g} to {row['aim_high']:g}"
    if row["judged"]:
        band = volume_band(row["weekly_sets"])
        return (
            f"{sets} without an aim: {band} volume (Baz-Valle 2022), against the published floor of "
            f"{FLOOR_SETS:g} (Pelland 2025)"
        )
    return f"{sets}, without an aim and without a set of its own, so the sets are not judged"


def _response(row: Mapping[str, Any]) -> str:
    if row["lifts"] == 0:
        return "no lift of its own to show a response"
    lifts = "response of its lift" if row["lifts"] == 1 else f"response of its {row['lifts']} lifts"
    words = (
        f"{lifts} {signed(row['response_pct_per_week'])} % a week "
        f"({signed(row['response_low'])} to {signed(row['response_high'])}), "
        f"the other groups {signed(row['others_pct_per_week'])} % a week"
    )
    if row["losing"]:
        kept = f"held with probability {row['p_kept']:.2f} in this {row['phase']}"
        explained = f", where bodyweight explains {signed(row['explained'])}" if row["explained"] < 0 else ""
        return f"{words}, {kept}{explained}"
    return words


def _chance(value: float) -> str:
    return ">0.99" if value > 0.99 else f"{value:.2f}"


def _notes(row: Mapping[str, Any]) -> list[str]:
    notes = []
    if row["state"] == "overreaching":
        notes.append(_overreaching(row))
    if row["state"] == "not_responding" and row["response_pct_per_week"] >= GAIN_PCT_PER_WEEK:
        notes.append("It gains, but likely less than half as fast as the other groups.")
    if row["state"] == "unsure" and row["lifts"] > 0:
        notes.append(f"Neither response nor its absence is {LIKELY:g} probable yet.")
    if row["twins"]:
        names = " and ".join(name.replace("_", " ") for name in row["twins"])
        notes.append(f"It has the same lifts as {names}, so they cannot be told apart.")
    for reading, name in (("low", "state_low"), ("high", "state_high")):
        if row[name] != row["state"]:
            notes.append(f"Read {reading}, it would be {_SAID[row[name]]}.")
    if row["losing"] and row["reps_per_day"] is not None and prep_band(row["reps_per_day"]) != "inside":
        low, high = PREP_REPS
        words = f"{row['reps_per_day']:.0f} repetitions a session are {prep_band(row['reps_per_day'])}"
        notes.append(f"{words} the {low:g} to {high:g} of contest preparation (Helms 2015).")
    if row["left_out"]:
        sets = "1 set" if row["left_out"] == 1 else f"{row['left_out']} sets"
        notes.append(f"{sets} of unknown exercises are in no count.")
    return notes


def _overreaching(row: Mapping[str, Any]) -> str:
    cause = "The sets are above the aim"
    if row["earlier_sets"] is not None and row["weekly_sets"] > JUMP * row["earlier_sets"]:
        cause = f"The sets went up from {row['earlier_sets']:.1f} a week"
    if row["mean_rir"] is None or row["earlier_rir"] is None:
        return f"{cause} while the lifts fall; without logged RIR it is unknown whether they got harder."
    rir = f"{row['earlier_rir']:.1f} to {row['mean_rir']:.1f}"
    return f"{cause} while the lifts fall, with RIR going from {rir}."
