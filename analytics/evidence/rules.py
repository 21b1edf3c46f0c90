"""Rules: the rules of thumb and simple scores that the trend is measured against, week by week."""

from __future__ import annotations

from datetime import date

import numpy as np
import polars as pl

from analytics.trend import scores
from analytics.trend.series import days_of, week_ends

RULES = ("no_best_4", "no_best_6", "regression_8", "mean_change_4")
"""Yes-or-no rules as coaches use them; their columns are 0 or 1."""
SCORES = ("weeks_since_best", "kendall_8", "cusum")

TEST_RETEST = 0.042
"""Grgic et al. 2020, median of 32 studies."""
ONE_SIDED_5 = 1.645


def rule_scores(sessions: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """One row per lift and week with RULES and SCORES; higher means less likely to progress.

    All rest on the best estimated maximum of each week, as a coach would read it from the sessions.
    """
    weeks = week_ends(min(sessions["date"].to_list()), as_of)
    ends = days_of(pl.Series(weeks, dtype=pl.Date))
    lifts = (
        sessions.select("athlete", "exercise").unique().sort("athlete", "exercise").with_row_index("series")
    )
    rows = sessions.join(lifts, on=["athlete", "exercise"]).sort("series", "date")
    series = rows["series"].to_numpy().astype(np.intp)
    week = np.searchsorted(ends, days_of(rows["date"]))
    shape = (len(lifts), len(weeks))
    best = scores.weekly_best(series, week, np.log(rows["e1rm_kg"].to_numpy()), shape)
    since = scores.weeks_since_best(best)
    slope, t = scores.window_slope(best, 8)
    change = scores.window_mean(best, 0, 3) - scores.window_mean(best, 4, 7)
    line, _ = scores.window_slope(best, 12)
    expected = scores.window_mean(best, 1, 12) + 6.5 * np.concatenate(
        [np.full((len(lifts), 1), np.nan), line[:, :-1]], axis=1
    )
    found = {
        "no_best_4": since >= 4,
        "no_best_6": since >= 6,
        "regression_8": ~(t >= ONE_SIDED_5) & np.isfinite(slope),
        "mean_change_4": change < 0.01,
        "weeks_since_best": since,
        "kendall_8": -scores.mann_kendall(best, 8),
        "cusum": scores.cusum((best - expected) / TEST_RETEST),
    }
    return (
        pl.DataFrame(
            {
                "series": np.repeat(np.arange(shape[0], dtype=np.uint32), shape[1]),
                "week_end": pl.Series(weeks * shape[0], dtype=pl.Date),
                **{
                    name: np.nan_to_num(values.astype(float), nan=0.0).ravel()
                    for name, values in found.items()
                },
            }
        )
        .join(lifts, on="series")
        .drop("series")
    )
