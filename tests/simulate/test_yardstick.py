"""The yardstick world: what it claims, how hard it is, and that an oracle sees more than we do."""

import numpy as np
import polars as pl
import pytest

from analytics import schema
from analytics.evidence import agreement
from analytics.evidence.oracle import default_days, oracle_model, true_sessions
from analytics.evidence.rules import rule_scores
from analytics.simulate import LAST_DAY, World, simulate_roster
from analytics.simulate.yardstick import simulate_yardstick
from analytics.strength import estimate_sessions
from analytics.trend.judge import judge
from analytics.trend.model import Model
from analytics.trend.regimes import PROGRESSING
from analytics.trend.series import make_series, week_ends


@pytest.fixture(scope="module")
def yardstick():
    simulated, days = simulate_yardstick(150, 52, 7)
    return simulated, days, estimate_sessions(simulated.sets)


def test_keeps_the_contract_and_its_seed(yardstick):
    simulated, days, sessions = yardstick
    assert schema.breaches(simulated.sets, schema.SETS).is_empty()
    again, _ = simulate_yardstick(150, 52, 7)
    assert again.sets.equals(simulated.sets)
    assert not simulate_yardstick(150, 52, 8)[0].sets.equals(simulated.sets)
    assert len(sessions.join(days, on=["athlete", "exercise", "date"])) == len(sessions)


def test_has_the_shares_it_describes(yardstick):
    truth = yardstick[0].truth_lifts
    ever = truth.group_by("athlete", "exercise").agg(
        stalled=(pl.col("regime") == "stalled").any(), lost=(pl.col("regime") == "regressing").any()
    )
    # An exercise that was swapped in or out shows a part of the lift only.
    assert 0.30 < ever["stalled"].mean() < 0.45
    assert 0.05 < ever["lost"].mean() < 0.13
    pace = truth.filter(pl.col("regime") == "progressing")["slope_pct_per_week"]
    assert (pace < 0.25).mean() > 0.25
    assert (pace > 0.6).mean() > 0.15
    weeks = truth.group_by("athlete").agg(pl.col("week_end").n_unique())["week_end"]
    assert (weeks.min(), weeks.max()) == (16, 52)


def test_is_as_hard_as_other_simulated_rosters():
    # A laboratory study of other simulated rosters: AUC of weeks since the best estimate 4, 6, 8, 12 weeks
    # after onset 0.56, 0.61, 0.66, 0.74; "no new best in 4 (6) weeks" flags 52 (37) % of progressing lifts.
    simulated, _ = simulate_yardstick(400, 52, 9)
    sessions = estimate_sessions(simulated.sets, "epley")
    rows = agreement.lift_weeks(rule_scores(sessions, LAST_DAY), sessions, simulated)
    auc = agreement.detection(rows, "weeks_since_best").auc
    np.testing.assert_allclose([auc[k] for k in (4, 6, 8, 12)], [0.56, 0.61, 0.66, 0.74], atol=0.04)
    progressing = rows.filter("progressing")
    assert progressing["no_best_4"].mean() == pytest.approx(0.52, abs=0.05)
    assert progressing["no_best_6"].mean() == pytest.approx(0.37, abs=0.05)


def auc_of_filter(sessions, simulated, model):
    ends = week_ends(min(sessions["date"].to_list()), LAST_DAY)
    judged = judge(make_series(sessions, schema.CALENDAR.empty(), "exercise"), ends, LAST_DAY, model=model)
    chance = (judged.filtered.regime @ judged.regimes.of_class())[:, : len(ends), PROGRESSING]
    lifts = judged.series.lifts
    table = pl.DataFrame(
        {
            "series": np.repeat(lifts["series"].to_numpy(), len(ends)),
            "week_end": pl.Series(ends * len(lifts), dtype=pl.Date),
            "score": 1 - chance.ravel(),
        }
    ).filter(pl.col("score").is_not_nan())
    rows = agreement.lift_weeks(table.join(lifts, on="series"), sessions, simulated)
    return agreement.detection(rows, "score").auc[8]


def test_who_knows_more_tells_better(yardstick):
    simulated, days, sessions = yardstick
    ours = auc_of_filter(sessions, simulated, Model())
    oracle, better = (
        auc_of_filter(true_sessions(sessions, days, knows), simulated, oracle_model(0.02, knows))
        for knows in (False, True)
    )
    assert ours < oracle < better


def test_true_days_of_the_default_world_are_its_sessions():
    world = World()
    sessions = estimate_sessions(simulate_roster(world, 12, 20, 3).sets)
    days = default_days(world, 12, 20, 3)
    found = sessions.join(days, on=["athlete", "exercise", "date"])
    assert len(found) == len(sessions)
    error = found.with_columns(error=pl.col("e1rm_kg").log() - pl.col("able")).with_columns(
        pl.col("error") - pl.col("error").mean().over("athlete", "exercise")
    )
    # What is left is effort, rounding and the curve: less than the 4.2 % of a test (Grgic et al. 2020) twice.
    assert 0.01 < error["error"].std() < 0.084
