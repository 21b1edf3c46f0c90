import dataclasses
from datetime import date, timedelta

import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from analytics.muscles import MuscleInputs, count_weeks, judge_muscles, uncounted
from analytics.muscles.dose import usual_doses
from analytics.roster import Athlete, Phase, Roster
from analytics.schema import CALENDAR, CHECKINS, LIFTS, MUSCLES, breaches, conform

SUNDAY = date(2026, 11, 22)
MONDAY = date(2026, 11, 16)
AIM = {"quads": (10.0, 20.0), "chest": (10.0, 20.0), "biceps": (6.0, 12.0)}
PLAN = ("back_squat", "bench_press", "barbell_curl", "seated_leg_curl", "lat_pulldown", "overhead_press")


def table(kind, rows=()):
    schema = {column.name: column.dtype for column in kind.columns}
    return conform(pl.DataFrame(list(rows), schema=schema), kind)


def lift(exercise, slope, error=0.04, athlete="wren", last=SUNDAY):
    half = 1.2816 * error
    return {
        "athlete": athlete,
        "exercise": exercise,
        "slope_pct_per_week": slope,
        "slope_low": slope - half,
        "slope_high": slope + half,
        "state": "unsure",
        "sessions": 20,
        "last_date": last,
        "why": "",
    }


def roster(phase=None, aim=AIM, athlete="wren"):
    phases = () if phase is None else (Phase(name=phase, start=date(2026, 9, 1)),)
    return Roster(title="Demo", athletes=(Athlete(id=athlete, name=athlete, weekly_sets=aim, phases=phases),))


@pytest.fixture
def log(make_sets):
    """Weekly sets per exercise over so many weeks, newest last; `recent` for the last four of them."""

    def build(sets=12, recent=None, weeks=12, rir=(None, None), athlete="wren", plan=PLAN):
        rows = []
        for back in range(weeks):
            late = back < 4
            for position, exercise in enumerate(plan, 1):
                count = sets if recent is None or not late else recent
                count = count.get(exercise, 0) if isinstance(count, dict) else count
                rows += [
                    {
                        "athlete": athlete,
                        "date": MONDAY - timedelta(weeks=back),
                        "position": position,
                        "exercise": exercise,
                        "rir": rir[1] if late else rir[0],
                    }
                ] * count
        return make_sets(*rows)

    return build


@pytest.fixture
def judge(catalogue):
    def run(sets, lifts, the_roster=None, checkins=(), calendar=(), as_of=SUNDAY):
        found = judge_muscles(
            MuscleInputs(
                weeks=count_weeks(sets, catalogue, as_of),
                lifts=table(LIFTS, lifts),
                checkins=table(CHECKINS, checkins),
                calendar=table(CALENDAR, calendar),
                roster=the_roster or roster(),
                catalogue=catalogue,
                as_of=as_of,
                uncounted=uncounted(sets, catalogue, as_of),
            )
        )
        assert breaches(found, MUSCLES).is_empty()
        return found

    return run


def of(found, muscle):
    return found.filter(pl.col("muscle") == muscle).row(0, named=True)


GAINS = dict(zip(PLAN, (0.3, 0.15, 0.45, 0.2, 0.5, 0.25), strict=True))
ALL_GAIN = [lift(exercise, gain) for exercise, gain in GAINS.items()]


def with_slope(exercise, slope, error=0.04):
    return [lift(e, slope, error) if e == exercise else lift(e, gain) for e, gain in GAINS.items()]


def test_enough_work_and_gains_is_responding(log, judge):
    row = of(judge(log(), ALL_GAIN), "quads")
    assert (row["state"], row["aim_low"], row["aim_high"], row["lifts"]) == ("responding", 10, 20, 1)
    assert row["weekly_sets"] == 12
    assert row["response_low"] > 0.1


def test_enough_work_without_gains_is_not_responding(log, judge):
    row = of(judge(log(), with_slope("back_squat", -0.05)), "quads")
    assert row["state"] == "not_responding"
    assert row["p_lagging"] > 0.9
    assert "12.0 fractional sets a week" in row["why"]
    assert "aim 10 to 20" in row["why"]


def test_slow_gains_beside_fast_ones_are_no_response(log, judge):
    row = of(judge(log(), with_slope("back_squat", 0.1)), "quads")
    assert (row["state"], row["p_lagging"] > 0.8) == ("not_responding", True)
    slow_all_over = [lift(e, 0.1) for e in PLAN]
    assert of(judge(log(), slow_all_over), "quads")["state"] == "responding"


def test_too_little_work_is_underdosed(log, judge):
    sets = log(sets=12, recent=dict.fromkeys(PLAN, 12) | {"back_squat": 5})
    row = of(judge(sets, with_slope("back_squat", 0.0, 0.15)), "quads")
    assert (row["state"], row["weekly_sets"]) == ("underdosed", 5)


def test_clear_gains_outweigh_a_missed_aim(log, judge):
    sets = log(sets=12, recent=dict.fromkeys(PLAN, 12) | {"back_squat": 5})
    assert of(judge(sets, ALL_GAIN), "quads")["state"] == "responding"


def test_within_a_tenth_of_the_aim_is_met(log, judge):
    nine = dict.fromkeys(PLAN, 9)
    assert of(judge(log(sets=nine), with_slope("back_squat", 0.1, 0.3)), "quads")["state"] != "underdosed"


def test_wide_intervals_are_unsure(log, judge):
    row = of(judge(log(), [lift(e, 0.1, 0.4) for e in PLAN]), "quads")
    assert row["state"] == "unsure"
    assert "probable yet" in row["why"]


def test_more_work_less_strength_is_overreaching(log, judge):
    # Rising work with falling performance: overreaching in the sense of Meeusen et al. 2013 (from memory).
    falling = with_slope("back_squat", -0.5)
    row = of(judge(log(sets=10, recent=18, rir=(2.0, 0.5)), falling), "quads")
    assert row["state"] == "overreaching"
    assert "went up from 10.0" in row["why"]
    assert "RIR going from 2.0 to 0.5" in row["why"]


def test_sets_above_the_aim_may_overreach_too(log, judge):
    row = of(judge(log(sets=24), with_slope("back_squat", -0.5)), "quads")
    assert row["state"] == "overreaching"
    assert "without logged RIR" in row["why"]


def test_easier_sets_are_no_overreaching(log, judge):
    row = of(judge(log(sets=10, recent=18, rir=(1.0, 3.0)), with_slope("back_squat", -0.5)), "quads")
    assert row["state"] == "not_responding"


def test_falling_without_more_work_is_no_overreaching(log, judge):
    assert of(judge(log(), with_slope("back_squat", -0.5)), "quads")["state"] == "not_responding"


def weigh_ins(rate_pct_per_week, weeks=6):
    return [
        {
            "athlete": "wren",
            "date": SUNDAY - timedelta(weeks=back),
            "measure": "bodyweight",
            "value": 80 * (1 - rate_pct_per_week / 100) ** (-back),
            "unit": "kg",
        }
        for back in range(weeks)
    ]


def test_in_a_cut_holding_is_responding(log, judge):
    held = [lift(e, 0.0) for e in PLAN]
    assert of(judge(log(), held), "quads")["state"] == "not_responding"
    row = of(judge(log(), held, roster("cut")), "quads")
    assert row["state"] == "responding"
    assert "held with probability" in row["why"]


def test_in_a_cut_bodyweight_explains_part_of_a_loss(log, judge):
    # Jaric 2002: force follows bodyweight to the power 0.67; 1 % a week explains 0.67 % a week.
    losing = [lift(e, -0.55) for e in PLAN]
    assert of(judge(log(), losing, roster("cut")), "quads")["state"] != "responding"
    row = of(judge(log(), losing, roster("cut"), checkins=weigh_ins(1.0)), "quads")
    assert row["state"] == "responding"
    assert "bodyweight explains -0.67" in row["why"]


def test_without_an_aim_only_the_floor_judges(log, judge):
    # Pelland et al. 2025 (from memory): four fractional sets a week are the least with an effect.
    few = dict.fromkeys(PLAN, 3)
    row = of(judge(log(sets=few), with_slope("back_squat", 0.0, 0.15), roster(aim={})), "quads")
    assert (row["state"], row["aim_low"]) == ("underdosed", None)
    assert "published floor of 4" in row["why"]
    more = dict.fromkeys(PLAN, 5)
    row = of(judge(log(sets=more), with_slope("back_squat", 0.0, 0.15), roster(aim={})), "quads")
    assert row["state"] != "underdosed"


def test_a_group_nobody_trains_or_aims_at_is_not_judged(log, judge):
    row = of(judge(log(), ALL_GAIN, roster(aim={})), "abs")
    assert (row["state"], row["weekly_sets"], row["lifts"]) == ("unsure", 0, 0)
    assert "not judged" in row["why"]


def test_an_aim_that_is_never_trained_is_underdosed(log, judge):
    row = of(judge(log(), ALL_GAIN, roster(aim={"calves": (8.0, 16.0)})), "calves")
    assert row["state"] == "underdosed"
    without = of(judge(log(), ALL_GAIN, roster(aim={})), "calves")
    assert row["p_lagging"] > without["p_lagging"]


def test_a_state_that_hangs_on_the_reading_says_so(log, judge):
    # Biceps: no curls, twelve pulldowns that count 0, 6 or 12.
    plan = [e for e in PLAN if e != "barbell_curl"]
    lifts = [lift(e, GAINS[e]) for e in plan]
    row = of(judge(log(plan=plan), lifts, roster(aim={"biceps": (6.0, 12.0)})), "biceps")
    assert (row["weekly_sets_low"], row["weekly_sets"], row["weekly_sets_high"]) == (0, 6, 12)
    assert (row["state"], row["state_low"]) == ("unsure", "underdosed")
    assert "Read low, it would be underdosed." in row["why"]


def test_deloads_and_layoffs_are_not_the_usual_dose(log, judge):
    light = log(sets=12, recent=2)
    entry = {
        "athlete": "wren",
        "from": MONDAY - timedelta(weeks=3),
        "to": SUNDAY,
        "kind": "deload",
    }
    assert of(judge(light, ALL_GAIN), "quads")["weekly_sets"] == 2
    assert of(judge(light, ALL_GAIN, calendar=[entry]), "quads")["weekly_sets"] == 12


def test_an_unfinished_week_is_not_a_dose(log, judge):
    row = of(judge(log(), ALL_GAIN, as_of=MONDAY + timedelta(days=1)), "quads")
    assert row["weekly_sets"] == 12


def test_priorities_do_not_change_the_probability(log, judge):
    plain = roster()
    wanted = Roster(
        title="Demo", athletes=(dataclasses.replace(plain.athletes[0], priority=("quads", "calves")),)
    )
    assert_frame_equal(judge(log(), ALL_GAIN, wanted), judge(log(), ALL_GAIN, plain), check_exact=True)


def test_old_lifts_say_nothing_about_now(log, judge):
    stale = lift("leg_press", -2.0, last=SUNDAY - timedelta(weeks=12))
    row = of(judge(log(), [*ALL_GAIN, stale]), "quads")
    assert (row["lifts"], row["state"]) == (1, "responding")


def test_unknown_exercises_are_told(log, judge, make_sets):
    strange = make_sets({"exercise": "odd-machine"}, {"exercise": "odd-machine"})
    row = of(judge(pl.concat([log(), strange]), ALL_GAIN), "quads")
    assert "2 sets of unknown exercises are in no count." in row["why"]


def test_groups_with_the_same_lifts_say_so(log, judge):
    found = judge(log(), ALL_GAIN)
    assert "It has the same lifts as glutes, so they cannot be told apart." in of(found, "quads")["why"]
    apart = judge(log(), [*ALL_GAIN, lift("leg_extension", 0.2)])
    assert "told apart" not in of(apart, "quads")["why"]


def test_girth_is_told_net_of_bodyweight(log, judge):
    # Geometry: at constant height a girth follows bodyweight to the power 0.5.
    gain = weigh_ins(-1.0)
    thigh = [
        dict(row, measure="thigh", unit="cm", side=side, value=60 * (row["value"] / 80) ** 0.5)
        for row in gain
        for side in ("left", "right")
    ]
    row = of(judge(log(), ALL_GAIN, checkins=[*gain, *thigh]), "quads")
    assert row["girth_pct_per_week"] == pytest.approx(0.0, abs=1e-6)


def test_one_athlete_does_not_change_another(log, judge, catalogue):
    sets, other = log(), log(sets=3, athlete="heron")
    lifts = with_slope("back_squat", 0.0, 0.2)
    strange = [lift(e, -1.0, 0.3, athlete="heron") for e in ("back_squat", "bench_press", "barbell_curl")]
    two = Roster(title="Demo", athletes=roster().athletes + roster("cut", athlete="heron").athletes)
    together = judge(pl.concat([other, sets]), [*strange, *lifts], two)
    alone = judge(sets, lifts)
    assert_frame_equal(together.filter(pl.col("athlete") == "wren"), alone, check_exact=True)


def test_rows_after_the_date_change_nothing(log, judge, make_sets):
    before = judge(log(), ALL_GAIN, as_of=SUNDAY - timedelta(weeks=2))
    known = log().filter(pl.col("date") <= SUNDAY - timedelta(weeks=2))
    late = [dict(row, value=60.0) for row in weigh_ins(1.0, weeks=2)]
    again = judge(known, ALL_GAIN, checkins=late, as_of=SUNDAY - timedelta(weeks=2))
    assert_frame_equal(again, before, check_exact=True)


def test_an_empty_log_gives_an_empty_table(judge, make_sets):
    assert judge(make_sets(), []).schema == MUSCLES.empty().schema


def test_no_lifts_at_all_leaves_doses_judged(log, judge):
    found = judge(log(), [])
    assert set(found["state"]) <= {"underdosed", "unsure"}
    assert found["p_lagging"].is_not_null().all()


def test_dose_before_and_now(log, catalogue):
    weeks = count_weeks(log(sets=10, recent=18), catalogue, SUNDAY)
    row = usual_doses(weeks, table(CALENDAR), SUNDAY).filter(pl.col("muscle") == "quads").row(0, named=True)
    assert (row["weekly_sets"], row["earlier_sets"]) == (18, 10)


number = st.floats(-3, 3, allow_nan=False)
lift_rows = st.lists(
    st.tuples(st.sampled_from([*PLAN, "odd-machine", "leg_press"]), number, st.floats(0, 3)),
    max_size=8,
    unique_by=lambda row: row[0],
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=lift_rows, phase=st.sampled_from([None, "build", "cut", "peak"]), aim=st.booleans())
def test_laws(log, judge, rows, phase, aim):
    sets = log(sets=3, weeks=5)
    lifts = [lift(exercise, slope, error) for exercise, slope, error in rows]
    found = judge(sets, lifts, roster(phase, AIM if aim else {}))
    assert found["p_lagging"].is_between(0, 1).all()
    assert (found["response_low"] <= found["response_pct_per_week"]).all()
    assert found["why"].str.ends_with(".").all()
    # Without a lift of its own, no group is said to answer its work or not to.
    alone = found.filter(pl.col("lifts") == 0)
    assert set(alone["state"]) <= {"underdosed", "unsure"}
