"""Situations a coach knows: a deload, a layoff, a typo, a swap, a stall, each as a small made-up log."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from analytics import schema
from analytics.strength.curve import log_ratio
from analytics.trend import fit_trends

FIRST = date(2025, 12, 1)


def log(gain_pct_per_week, weeks=30, seed=0, changes=None, exercise="row", noise=0.02, base=100.0, first=0):
    """Two sessions a week of one lift; `changes` maps (week, visit) to a factor on the estimate, 0
    removes it.
    """
    rng = np.random.default_rng(seed)
    gains = np.broadcast_to(np.asarray(gain_pct_per_week, dtype=float) / 100, weeks)
    level = np.log(base) + np.cumsum(gains) - gains[0]
    rows = []
    for week in range(weeks):
        for visit in (0, 3):
            factor = (changes or {}).get((week, visit), 1.0)
            shock = rng.normal(0, noise)
            if factor == 0:
                continue
            kg = float(np.exp(level[week] + gains[week] * visit / 7 + shock)) * factor
            rows.append(
                {
                    "athlete": "heron",
                    "exercise": exercise,
                    "family": "horizontal_row",
                    "date": FIRST + timedelta(days=7 * (week + first) + visit),
                    "e1rm_kg": kg,
                    "e1rm_se_kg": 0.05 * kg,
                    "log_se": 0.05,
                    "log_noise": 0.012,
                    "curve_exposure": 0.23,
                    "rir_share": 1.0,
                    "sets_used": 3,
                    "set_numbers": "1,2,3",
                    "top_load_kg": kg * 0.79,
                    "top_reps": 7,
                    "top_rir": 1.0,
                    "source_file": "a.csv",
                    "source_row": len(rows) + 1,
                }
            )
    return schema.conform(pl.DataFrame(rows), schema.SESSIONS)


def end_of(sessions):
    last = sessions["date"].max()
    return last + timedelta(days=6 - last.weekday())


def judged(sessions, calendar=None):
    calendar = schema.CALENDAR.empty() if calendar is None else calendar
    return fit_trends(sessions, calendar, end_of(sessions))


def share(seeds, make, column):
    return float(np.mean([judged(make(seed)).lifts[column].item() for seed in range(seeds)]))


def test_steady_gain_progresses():
    # 0.5 % a week over 30 weeks, far above the noise of a weekly slope (0.11 % over 26 weeks at CV 4.2 %).
    assert share(6, lambda s: log(0.5, seed=s), "p_progressing") > 0.85


def test_long_stall_is_named():
    gains = np.r_[np.full(20, 0.6), np.zeros(20)]
    found = [judged(log(gains, weeks=40, seed=s)).lifts for s in range(6)]
    assert np.mean([f["p_progressing"].item() for f in found]) < 0.6
    assert np.mean([f["slope_pct_per_week"].item() for f in found]) < 0.12
    steady = share(6, lambda s: log(0.6, weeks=40, seed=s), "p_progressing")
    assert steady > 0.8


def test_long_loss_is_named():
    gains = np.r_[np.full(20, 0.5), np.full(16, -0.6)]
    assert share(6, lambda s: log(gains, weeks=36, seed=s), "p_regressing") > 0.6


def test_deload_is_no_plateau():
    # Rogerson et al. 2024: competitors deload 6.4 days every 5.6 weeks.
    dips = {(week, visit): 0.88 for week in (5, 11, 17, 23, 29) for visit in (0, 3)}
    plain = share(5, lambda s: log(0.5, seed=s), "p_progressing")
    dipped = share(5, lambda s: log(0.5, seed=s, changes=dips), "p_progressing")
    assert dipped > 0.75
    assert plain - dipped < 0.2


def test_short_layoff_alone_asserts_no_loss():
    # McMaster et al. 2013 (from memory): strength is held about three weeks without training.
    gap = {(week, visit): 0 for week in (26, 27) for visit in (0, 3)}
    assert share(5, lambda s: log(0.4, seed=s, changes=gap), "p_regressing") < 0.1


def test_one_typo_moves_little():
    sessions = log(0.4, seed=3)
    typo = log(0.4, seed=3, changes={(28, 0): 1.8})
    plain, odd = judged(sessions).lifts, judged(typo).lifts
    assert odd["strength_kg"].item() == pytest.approx(plain["strength_kg"].item(), rel=0.02)
    assert odd["p_progressing"].item() == pytest.approx(plain["p_progressing"].item(), abs=0.2)


def test_a_swap_neither_resets_nor_counts_as_progress():
    before = log(0.5, weeks=24, seed=2)
    after = log(0.5, weeks=6, seed=5, exercise="chest_supported_row", base=160.0, first=24)
    found = judged(pl.concat([before, after]))
    family = found.families.row(0, named=True)
    assert family["exercises"] == "chest_supported_row, row"
    assert family["sessions"] == 60
    assert 0 < family["slope_pct_per_week"] < 1.0
    assert family["p_progressing"] > 0.7
    assert family["strength_kg"] == pytest.approx(160, rel=0.1)


def test_a_lift_swapped_in_begins_with_what_is_known_of_its_family():
    before = log(0.6, weeks=30, seed=2)
    after = log(0.6, weeks=2, seed=5, exercise="chest_supported_row", base=160.0, first=30)[:3]
    alone, both = judged(after).lifts, judged(pl.concat([before, after])).lifts
    new = both.filter(pl.col("exercise") == "chest_supported_row").row(0, named=True)
    old = both.filter(pl.col("exercise") == "row").row(0, named=True)
    assert old["p_progressing"] > 0.7
    assert alone["p_progressing"].item() < 0.6
    assert new["p_progressing"] == pytest.approx(old["p_progressing"], abs=0.15)
    # Three sessions 60 % above the other row are no progress of 20 % a week.
    assert new["slope_high"] < 2


def test_a_lift_of_another_family_inherits_nothing():
    before = log(0.6, weeks=30, seed=2)
    after = log(0.6, weeks=2, seed=5, exercise="leg_press", base=160.0, first=30)[:3]
    after = after.with_columns(family=pl.lit("squat"))
    new = judged(pl.concat([before, after])).lifts.filter(pl.col("exercise") == "leg_press")
    assert new["state"].item() == "unsure"


def test_noise_of_repetitions_is_not_taken_for_the_shape_of_a_curve():
    # A maximum of 100 kg that never changes, always 75 kg to failure: good days bring more repetitions.
    rng = np.random.default_rng(4)
    grid = np.linspace(1, 30, 3000)
    sessions = log(0.0, weeks=30, seed=4)
    reps = np.interp(np.log(100 / 75) + rng.normal(0, 0.04, len(sessions)), log_ratio(grid), grid)
    sessions = sessions.with_columns(
        e1rm_kg=pl.Series(75 * np.exp(log_ratio(reps))),
        curve_exposure=pl.Series(log_ratio(reps)),
        top_load_kg=75.0,
    )
    found = judged(sessions).lifts.row(0, named=True)
    assert found["strength_kg"] == pytest.approx(100, rel=0.03)
    assert found["strength_low_kg"] < 100 < found["strength_high_kg"]


@pytest.mark.parametrize("visits", [1, 2, 3])
def test_a_first_week_asserts_nothing(visits):
    found = judged(log(2.0, weeks=2, seed=1)[:visits]).lifts.row(0, named=True)
    assert found["state"] == "unsure"
    assert found["slope_low"] < 0 < found["slope_high"]


def test_few_sessions_are_unsure():
    found = judged(log(0.2, weeks=2)).lifts.row(0, named=True)
    assert found["slope_high"] - found["slope_low"] > 0.3
    assert "4 sessions" in found["why"]


def test_slowing_is_not_loss():
    # Steele et al. 2022: strength grows like a + b ln(week); the late slope nears zero from above.
    weeks = 52
    gains = 8 * np.diff(np.log(np.arange(1, weeks + 2)))
    found = judged(log(gains, weeks=weeks, seed=1)).lifts
    assert found["p_regressing"].item() < 0.15
    assert found["slope_low"].item() < 8 / weeks < found["slope_high"].item() + 0.1


def test_why_says_numbers():
    why = judged(log(0.5, seed=1)).lifts["why"].item()
    assert "60 sessions over" in why
    assert "% a week" in why
    assert why.endswith(".")
