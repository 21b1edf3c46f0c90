"""Intervals: how far truths fell from what was told, in units of the interval's half-width."""

from __future__ import annotations

from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from analytics.trend.calibration import Calibration
from analytics.trend.intervals import Z80, change_sd, lasting_sd
from analytics.trend.tables import FORECAST_WEEKS, Judged

Floats = NDArray[np.float64]

LIFT = ["athlete", "exercise"]
CHANGE_WEEKS = (4, 8)
WORLDS_HELD = 0.75
"""Share of worlds in which an 80 % interval of the slope shall hold 80 %: our choice."""


def interval_ratios(judged: Judged, rows: pl.DataFrame, ends: list[date]) -> dict[str, Floats]:
    """Miss over half-width for each kind of interval, one value per lift-week of ``agreement.lift_weeks``.

    1 or less is inside.  Kinds: slope, strength, change_4_weeks, change_8_weeks, forecast (true strength four
    weeks later), session (estimate of the first session four to five weeks later).
    """
    model, width = judged.model, judged.calibration
    column = pl.DataFrame({"week_end": pl.Series(ends, dtype=pl.Date)}).with_row_index("column")
    keys = rows.select(*LIFT, "week_end", "true_slope", "true_kg").join(judged.series.lifts, on=LIFT)
    keys = keys.join(column, on="week_end").sort("series", "week_end")
    at = keys["series"].to_numpy(), keys["column"].to_numpy()
    slope, slope_sd, level = judged.told.slope[at], judged.told.slope_sd[at], judged.filtered.level[at]
    miss = keys["true_slope"].to_numpy() / 100 - slope
    found = {"slope": np.abs(miss) / (Z80 * width.slope_width * slope_sd)}

    traits = (
        judged.series.rows.group_by("series")
        .agg(exposure=pl.col("curve_exposure").mean(), unlogged=1 - pl.col("rir_share").mean())
        .sort("series")
    )
    lasting = lasting_sd(traits["exposure"].to_numpy(), traits["unlogged"].to_numpy())[at[0]]
    sd = np.hypot(np.sqrt(judged.filtered.level_var[at]), lasting)
    truth = np.log(keys["true_kg"].to_numpy())
    found["strength"] = np.abs(truth - level) / (Z80 * width.strength_width * sd)
    for weeks in CHANGE_WEEKS:
        half = Z80 * width.change_width * change_sd(slope_sd, weeks, model)
        found[f"change_{weeks}_weeks"] = np.abs(_later(keys, weeks) - truth - weeks * slope) / half
    ahead_sd = np.hypot(sd, width.change_width * change_sd(slope_sd, FORECAST_WEEKS, model))
    ahead = level + FORECAST_WEEKS * slope
    found["forecast"] = np.abs(_later(keys, FORECAST_WEEKS) - ahead) / (Z80 * width.forecast_width * ahead_sd)
    found["session"] = _session_ratio(judged, keys, ahead, slope_sd)
    return {name: values[np.isfinite(values)] for name, values in found.items()}


def _later(keys: pl.DataFrame, weeks: int) -> Floats:
    """True log-strength some weeks later; nan where the lift has ended."""
    then = keys.select(*LIFT, "week_end", later="true_kg")
    joined = keys.with_columns(then=pl.col("week_end") + pl.duration(days=7 * weeks)).join(
        then, left_on=[*LIFT, "then"], right_on=[*LIFT, "week_end"], how="left", maintain_order="left"
    )
    return np.log(joined["later"].fill_null(np.nan).to_numpy())


def _session_ratio(judged: Judged, keys: pl.DataFrame, ahead: Floats, slope_sd: Floats) -> Floats:
    """For a session's estimate: the lift's usual offset from its line is carried on, noise of a day is
    added.
    """
    model, filtered, observed = judged.model, judged.filtered, judged.series.observed
    sessions = (
        judged.series.rows.select("series", "date", "log_noise", "rir_share")
        .with_columns(value=pl.Series(observed.value), offset=pl.Series(observed.value - filtered.cleaned))
        .sort("series", "date")
        .with_columns(usual=pl.col("offset").rolling_mean(6, min_samples=1).over("series"))
        .sort("date")
    )
    joined = (
        keys.select("series", "week_end")
        .with_row_index()
        .with_columns(soon=pl.col("week_end") + pl.duration(days=26))
        .sort("week_end")
        .join_asof(
            sessions.select("series", "date", "usual"),
            left_on="week_end",
            right_on="date",
            by="series",
            check_sortedness=False,
        )
        .sort("soon")
        .join_asof(
            sessions.select("series", "date", "value", "log_noise", "rir_share", then="date"),
            left_on="soon",
            right_on="date",
            by="series",
            strategy="forward",
            tolerance="9d",
            check_sortedness=False,
        )
        .sort("index")
    )
    unlogged = 1 - joined["rir_share"].fill_null(0.0).to_numpy()
    noise = joined["log_noise"].fill_null(0.02).to_numpy()
    variance = (
        model.own_sd**2
        + model.day_sd**2
        + noise**2
        + 2 * model.departure_var(unlogged)
        + change_sd(slope_sd, FORECAST_WEEKS, model) ** 2
    )
    miss = joined["value"].fill_null(np.nan).to_numpy() - ahead - joined["usual"].fill_null(np.nan).to_numpy()
    return np.abs(miss) / (Z80 * judged.calibration.session_width * np.sqrt(variance))


def widths(ratios: list[dict[str, Floats]], usual: list[dict[str, Floats]]) -> Calibration:
    """Factors that make 80 % of the truths fall inside.

    `ratios` come from worlds judged with all factors at 1 (split conformal prediction: Vovk et al.
    2005).  Slope and change shall hold in three worlds of four, because nobody knows in which a coach lives;
    the session over the mean of all worlds and of the usual ones, whichever asks for more.  Kilograms are
    fitted to the `usual` ones, whose load-repetition curves are near the published ones: where the curve is
    another, no width that is of use would be wide enough.
    """

    grid = np.linspace(0.2, 4.0, 761)

    def inside(worlds: list[dict[str, Floats]], *kinds: str) -> Floats:
        """Share inside by world and width."""
        return np.array(
            [
                np.mean([[(np.abs(w[kind]) <= g).mean() for g in grid] for kind in kinds], axis=0)
                for w in worlds
            ]
        )

    def narrowest(share: Floats) -> float:
        return round(float(grid[np.argmax(share >= 0.8)]), 3)

    def in_the_mean(worlds: list[dict[str, Floats]], *kinds: str) -> float:
        return narrowest(inside(worlds, *kinds).mean(axis=0))

    def in_most(*kinds: str) -> float:
        return narrowest(np.quantile(inside(ratios, *kinds), 1 - WORLDS_HELD, axis=0))

    return Calibration(
        slope_width=in_most("slope"),
        strength_width=in_the_mean(usual, "strength"),
        change_width=in_most("change_4_weeks", "change_8_weeks"),
        forecast_width=in_the_mean(usual, "forecast"),
        session_width=max(in_the_mean(ratios, "session"), in_the_mean(usual, "session")),
    )
