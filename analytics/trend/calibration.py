"""Calibration: corrections of probabilities and interval widths, learned from simulated rosters of unlike
worlds.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """Factors on the half-widths of the 80 % intervals of slope, strength, its change, its forecast,
    and of one session's estimate."""

    slope_width: float = 1.0
    strength_width: float = 1.0
    change_width: float = 1.0
    forecast_width: float = 1.0
    session_width: float = 1.0


@cache
def packaged() -> Calibration:
    """The corrections in calibration.json, written by ``python -m analytics.evidence.fit``."""
    file = resources.files("analytics.trend") / "calibration.json"
    if not file.is_file():
        return Calibration()
    return Calibration(**json.loads(file.read_text(encoding="utf-8")))
