"""Published formulas: one-repetition maximum from a load and the repetitions done to failure, on arrays."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Formula:
    """One published formula.

    `most_reps` is the highest number of repetitions it is meant for: above it the answer is null (nan), never
    a guess.  A performed single is the maximum itself, whatever the formula says.
    """

    name: str
    source: str
    most_reps: float
    ratio: Callable[[Floats], Floats]

    def __call__(self, load_kg: ArrayLike, reps_to_failure: ArrayLike) -> Floats:
        """Estimated maximum in the unit of `load_kg`; nan below one repetition and above `most_reps`.

        Repetitions in reserve are added to the repetitions done before the call; they may be fractions.
        """
        load, reps = np.broadcast_arrays(
            np.asarray(load_kg, dtype=float), np.asarray(reps_to_failure, dtype=float)
        )
        legal = (reps >= 1) & (reps <= self.most_reps) & (load >= 0)
        estimate = load * self.ratio(np.where(legal, reps, 1.0))
        return np.where(legal, np.where(reps == 1, load, estimate), np.nan)


def _formula(name: str, source: str, most_reps: float, ratio: Callable[[Floats], Floats]) -> Formula:
    return Formula(name=name, source=source, most_reps=most_reps, ratio=ratio)


_ALL = (
    _formula("epley", "Epley 1985, Boyd Epley Workout", 10, lambda r: 1 + r / 30),
    _formula("brzycki", "Brzycki 1993, JOPERD 64(1):88-90", 10, lambda r: 36 / (37 - r)),
    _formula("lander", "Lander 1985, NSCA Journal 6(6):60-61", 10, lambda r: 100 / (101.3 - 2.67123 * r)),
    _formula("lombardi", "Lombardi 1989, Beginning Weight Training", 15, lambda r: r**0.10),
    _formula(
        "mayhew",
        "Mayhew et al. 1992, J Appl Sport Sci Res 6:200-206",
        15,
        lambda r: 100 / (52.2 + 41.9 * np.exp(-0.055 * r)),
    ),
    _formula("oconner", "O'Conner et al. 1989, Weight Training Today", 10, lambda r: 1 + 0.025 * r),
    _formula(
        "wathan",
        "Wathan 1994, in Baechle, Essentials of Strength Training and Conditioning",
        15,
        lambda r: 100 / (48.8 + 53.8 * np.exp(-0.075 * r)),
    ),
)

FORMULAS: Mapping[str, Formula] = MappingProxyType({formula.name: formula for formula in _ALL})
"""By name.  Constants as tabulated in LeSuer et al. 1997 (from memory).  Linear formulas end at 10
repetitions, the others at 15 (Reynolds et al. 2006).
"""
