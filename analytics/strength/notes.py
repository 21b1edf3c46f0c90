"""Notes: what a reader of an estimated maximum should know about this exercise and these repetitions."""

from __future__ import annotations

LOOSE_REPS = 10


def estimate_notes(exercise: str, reps_to_failure: float) -> tuple[str, ...]:
    """Sentences to show beside an estimate; none for the usual case.

    Above ten repetitions: Reynolds, Gordon & Robergs 2006.  Deadlift: every one of seven formulas
    estimated low (LeSuer et al. 1997, from memory).
    """
    notes = []
    if reps_to_failure > LOOSE_REPS:
        notes.append("Estimates from more than ten repetitions are loose.")
    if "deadlift" in exercise and "romanian" not in exercise:
        notes.append("A deadlift's estimate is likely low.")
    return tuple(notes)
