"""Model: every constant of the trend, with its unit and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Model:
    """Standard deviations are of log-strength (0.01 is about 1 %).

    The day and the lift's own part together make the 4.2 % by which a maximum varies from test to test (Grgic
    et al. 2020, median of 32 studies) once the estimate's own noise is added.  Layoffs: little loss for about
    three weeks, more after (McMaster et al. 2013; Bosquet et al. 2013).  The others: common practice, no
    source; the answers change little when they are halved or doubled.
    """

    day_sd: float = 0.016
    own_sd: float = 0.021
    noise_prior_sessions: float = 8.0
    personal_curve_sd: float = 0.10
    first_sd: float = 0.30
    departure_sd_logged: float = 0.010
    departure_sd_unlogged: float = 0.026
    departure_weeks: float = 3.0
    level_var_per_week: float = 0.0015**2
    unused_var_per_week: float = 0.008**2
    longest_drift_weeks: float = 3.0
    layoff_loss_per_week: float = 0.008
    layoff_sd_per_week: float = 0.012
    longest_layoff_weeks: float = 10.0
    light_drop: float = 0.09
    light_sd: float = 0.06
    wide_chance: float = 0.015
    wide_sd: float = 0.12
    jump_sd: float = 0.05
    inherited_share: float = 0.7
    inherited_sessions: int = 6
    inherited_weeks: float = 8.0

    def departure_var(self, unlogged: Floats) -> Floats:
        """Variance of the lasting but passing departure from true strength, by share of effort not logged."""
        sd = self.departure_sd_logged + (self.departure_sd_unlogged - self.departure_sd_logged) * unlogged
        return np.asarray(sd**2)
