"""Load-repetition curve: log of maximum over load as a function of repetitions to failure, on arrays.

The published shape is Wathan's, moved so that a single is the load itself (LeSuer et al. 1997 found it
unbiased for bench press and squat).  A person's own curve is this shape times (1 + personal), where
`personal` is the same at every session of a lift; the trend estimates it together with strength.  People
differ widely: 6 to 26 repetitions at 70 % of the maximum (Zourdos et al. 2021), which is a standard deviation
of about a quarter.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

PERSONAL_SD = 0.25
MOST_REPS = 30
"""Beyond this many repetitions to failure a set says too little about a maximum to be used."""

_FLOOR, _RANGE, _RATE = 48.8, 53.8, 0.075
_SINGLE = np.log(_FLOOR + _RANGE * np.exp(-_RATE))


def log_ratio(reps_to_failure: ArrayLike) -> NDArray[np.float64]:
    """Log of (maximum / load) at this many repetitions to failure; 0 at a single."""
    reps = np.asarray(reps_to_failure, dtype=float)
    return _SINGLE - np.log(_FLOOR + _RANGE * np.exp(-_RATE * reps))


def log_ratio_per_rep(reps_to_failure: ArrayLike) -> NDArray[np.float64]:
    """Derivative of `log_ratio`: what one repetition more is worth."""
    decay = _RANGE * np.exp(-_RATE * np.asarray(reps_to_failure, dtype=float))
    return _RATE * decay / (_FLOOR + decay)
