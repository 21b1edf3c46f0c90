"""Several: names of columns that say several things at once, of which one is meant."""

from __future__ import annotations

import re
from collections.abc import Mapping

from analytics.intake.cells.vocabulary import meanings

_PARTED = re.compile(rf"[/|,;]|\s(?:{'|'.join(map(re.escape, meanings('or')))})\s")
_WAYS = frozenset(meanings("way"))
_TIMES = ("seconds", "time")


def reserve_in(name: str, known: Mapping[str, str]) -> str:
    """The end of ``rpe reps left`` that says what the numbers are; of every other name the name.

    `name` is normal.  ``rpe rir`` names two scales and explains neither.
    """
    words = name.split()
    for i in range(1, len(words)):
        rest = " ".join(words[i:])
        if (
            known.get(rest) == "rir"
            and rest != "rir"
            and known.get(" ".join(words[:i]).rstrip(" =")) == "rpe"
        ):
            return rest
    return name


def counted_in(text: str, known: Mapping[str, str]) -> bool:
    """Whether a tidied name says repetitions, and else a time or a way, ``reps / metres / seconds``."""
    parts = [" ".join(re.sub(r"[^\w]+", " ", part).split()) for part in _PARTED.split(text)]
    fields = {"way" if part in _WAYS else known.get(part) for part in parts}
    return "reps" in fields and len(fields) > 1 and fields <= {"reps", "way", *_TIMES}
