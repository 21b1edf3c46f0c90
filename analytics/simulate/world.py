"""World: the parameters of one invented world of training, and what a simulation returns."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import date, timedelta

import numpy as np
import polars as pl

LAST_DAY = date(2026, 11, 22)
"""A Sunday.  Every simulation ends here unless told otherwise; nothing reads the clock."""


@dataclass(frozen=True, kw_only=True)
class World:
    """Parameters of one invented world.  Shares are of athletes, lifts or sessions from 0 to 1.

    Sources of the defaults: test-retest variation with a median of 4.2 % (Grgic et al. 2020); deloads of 6.4
    days every 5.6 (SD 2.3) weeks (Rogerson et al. 2024); reported reps in reserve too low by about one rep
    and looser far from failure (Halperin et al. 2022, Hackett et al. 2017); slopes from elite and trained to
    novice lifters (Appleby et al. 2012, Latella et al. 2020, Steele et al. 2022).  What has no source is a
    habit of the trade (common practice, no source) or free invention.
    """

    last_day: date = LAST_DAY
    lifts: tuple[int, int] = (6, 12)

    # latent strength
    slope_pct_per_week: tuple[float, float] = (0.05, 1.0)
    slope_spread: float = 0.35
    slowing_per_year: float = 0.3
    stall_share: float = 0.40
    stall_weeks: float = 16.0
    regress_share: float = 0.10
    regress_pct_per_week: tuple[float, float] = (0.10, 0.60)
    restart_share: float = 0.6
    layoff_loss_pct_per_week: float = 1.0
    layoff_regain_share: float = 0.4

    # noise of a day, in log strength
    day_sd: float = 0.022
    lift_sd: float = 0.030
    noise_spread: float = 0.25
    bad_day_share: float = 0.04
    bad_day_loss: float = 0.06
    missed_session_share: float = 0.06

    # load and repetitions
    curve_spread: float = 0.15
    fatigue_per_set: float = 0.022
    superset_share: float = 0.15
    superset_fatigue: float = 0.035

    # effort
    rir_logging_share: float = 0.5
    rir_forgotten_share: float = 0.12
    rir_bias: float = 0.6
    rir_sd: float = 0.5
    rir_ramp_share: float = 0.5
    target_rir: tuple[float, float] = (0.0, 3.0)

    # how work is laid out
    double_progression_share: float = 0.65
    undulating_share: float = 0.15
    pyramid_share: float = 0.18
    back_off_share: float = 0.18
    drop_share: float = 0.14
    rest_pause_share: float = 0.05
    pump_share: float = 0.06
    warm_ups_logged_share: float = 0.75
    warm_up_forgotten_share: float = 0.12
    rest_logged_share: float = 0.25
    sides_logged_share: float = 0.5
    checkins_kept_share: float = 0.8
    girths_kept_share: float = 0.4
    tape_sd: float = 0.01
    pounds_share: float = 0.4

    # calendar
    deload_share: float = 0.8
    deload_every_weeks: tuple[float, float] = (5.6, 2.3)
    layoffs_per_year: float = 0.8
    layoff_weeks: tuple[int, int] = (1, 4)
    travel_per_year: float = 1.5
    travel_offset_sd: float = 0.08
    calendar_kept_share: float = 0.8
    swap_per_lift_year: float = 0.35
    cut_share: float = 0.25
    cut_weeks: tuple[int, int] = (10, 20)
    cut_bodyweight_pct_per_week: tuple[float, float] = (0.4, 1.0)
    cut_strength_pct_per_week: tuple[float, float] = (0.0, 0.35)

    # muscles
    neglected_share: float = 0.35
    non_response_share: float = 0.20

    def days(self, weeks: int) -> np.ndarray:
        """Every day of `weeks` weeks that end on the last day, from a Monday if that is a Sunday."""
        first = self.last_day - timedelta(days=7 * weeks - 1)
        return np.datetime64(first) + np.arange(7 * weeks)


@dataclass(frozen=True, kw_only=True)
class Simulated:
    """One simulated roster and its truth.

    `sets`: ``schema.SETS`` with true roles.  `checkins`, `calendar`: as in ``schema``.
    `truth_lifts`: one row per athlete, exercise and week (`week_end`, a Sunday): `strength_kg` (true one-rep
    maximum, without day effects, effort, other machines), `slope_pct_per_week` and `regime` (progressing,
    stalled, regressing) of the present week, `regime_since`.
    `truth_muscles`: one row per athlete and muscle group at the end: `response_pct_per_week` (mean true slope
    of its lifts over the last eight weeks), `weekly_sets` (fractional, last four trained weeks),
    `underdosed`, `not_responding`, `lagging`, `margin_pct_per_week` (the athlete's other groups minus it).
    `athletes`: one row per athlete: its traits.
    """

    sets: pl.DataFrame
    checkins: pl.DataFrame
    calendar: pl.DataFrame
    truth_lifts: pl.DataFrame
    truth_muscles: pl.DataFrame
    athletes: pl.DataFrame

    def with_athletes(self, names: dict[str, str]) -> Simulated:
        """The same roster with other ids: `names` maps the old ones to the new ones."""
        new = {
            field.name: getattr(self, field.name).with_columns(pl.col("athlete").replace(names))
            for field in fields(self)
        }
        return Simulated(**new)

    def with_exercise(self, old: str, new: str, name: str) -> Simulated:
        """The same roster with one exercise under another id and name."""
        swap = pl.col("exercise").replace({old: new})
        said = pl.when(pl.col("exercise") == old).then(pl.lit(name)).otherwise("exercise_as_logged")
        return replace(
            self,
            sets=self.sets.with_columns(exercise_as_logged=said).with_columns(exercise=swap),
            truth_lifts=self.truth_lifts.with_columns(exercise=swap),
        )
