"""Simulated rosters: the same call gives the same rows, they keep the contracts, and their truth is true."""

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from analytics import schema
from analytics.simulate import LAST_DAY, Simulated, World, simulate_roster


@pytest.fixture(scope="module")
def roster() -> Simulated:
    return simulate_roster(World(), 60, 26, 11)


def test_an_athlete_is_the_same_one_in_a_roster_of_any_size(roster: Simulated) -> None:
    few = simulate_roster(World(), 3, 26, 11)
    for table in ("sets", "checkins", "calendar", "truth_lifts", "truth_muscles", "athletes"):
        whole = getattr(roster, table).filter(pl.col("athlete") <= "a00002")
        assert_frame_equal(whole, getattr(few, table))


def test_athletes_beyond_one_batch_do_not_depend_on_the_batch() -> None:
    some = simulate_roster(World(), 103, 16, 5)
    more = simulate_roster(World(), 140, 16, 5)
    assert_frame_equal(more.sets.filter(pl.col("athlete") <= "a00102"), some.sets)


def test_another_seed_is_another_roster(roster: Simulated) -> None:
    assert not roster.sets.equals(simulate_roster(World(), 60, 26, 12).sets)


def test_tables_keep_their_contracts(roster: Simulated) -> None:
    assert schema.breaches(roster.sets, schema.SETS).is_empty()
    assert schema.breaches(roster.checkins, schema.CHECKINS).is_empty()
    assert schema.breaches(roster.calendar, schema.CALENDAR).is_empty()
    assert roster.sets.select(schema.SETS.key).is_duplicated().sum() == 0
    assert roster.sets["date"].max() <= LAST_DAY


def test_every_role_and_every_regime_occurs(roster: Simulated) -> None:
    assert set(schema.ROLES) == set(roster.sets["role"])
    assert {"progressing", "stalled", "regressing"} == set(roster.truth_lifts["regime"])


def test_test_retest_variation_is_the_published_median() -> None:
    # Median variation of 1RM tests over 32 studies: CV 4.2 % (Grgic et al. 2020, Sports Med Open 6:31).
    world = World()
    bad = world.bad_day_share * (1 - world.bad_day_share) * world.bad_day_loss**2
    spread = np.exp(world.noise_spread**2)
    total = np.sqrt((world.day_sd**2 + world.lift_sd**2) * spread + bad)
    assert pytest.approx(total, abs=0.003) == 0.042


def test_deloads_come_as_often_as_competitors_report() -> None:
    # 6.4 (SD 1.7) days every 5.6 (SD 2.3) weeks (Rogerson et al. 2024, Sports Med Open).
    world = World(
        deload_share=1.0, layoffs_per_year=0.0, travel_per_year=0.0, calendar_kept_share=1.0, cut_share=0.0
    )
    calendar = simulate_roster(world, 200, 52, 3).calendar
    deloads = calendar.filter(pl.col("kind") == "deload")
    # a run of one easy week within a cycle of deload and 5.6 weeks on average
    assert pytest.approx(deloads.height / 200, rel=0.12) == 52 / 5.6


def test_drops_cut_a_fifth_to_a_third(roster: Simulated) -> None:
    # common practice, no source
    chain = roster.sets.filter(pl.col("chain").is_not_null(), pl.col("side") != "right")
    chain = pl.concat([chain, roster.sets.filter(pl.col("chain").is_not_null(), pl.col("side").is_null())])
    key = ["athlete", "date", "position"]
    kept = chain.sort(*key, "set_number").with_columns(
        share=pl.col("load_kg") / pl.col("load_kg").shift(1).over(key)
    )
    share = kept.filter(pl.col("role") == "drop", pl.col("load_kg") > 25)["share"]
    assert share.quantile(0.1) > 0.6
    assert share.quantile(0.9) < 0.86


def test_true_strength_knows_nothing_of_noise_or_effort() -> None:
    calm = simulate_roster(World(), 8, 26, 4)
    noisy = simulate_roster(
        World(day_sd=0.06, lift_sd=0.06, bad_day_share=0.2, target_rir=(3.0, 5.0)), 8, 26, 4
    )
    both = calm.truth_lifts.join(noisy.truth_lifts, on=["athlete", "exercise", "week_end"], suffix="_noisy")
    assert both.height > 0.9 * calm.truth_lifts.height
    assert (both["strength_kg"] - both["strength_kg_noisy"]).abs().max() == 0


def test_true_strength_moves_by_the_true_slope_in_weeks_of_training() -> None:
    world = World(layoffs_per_year=0.0, cut_share=0.0)
    truth = simulate_roster(world, 20, 26, 4).truth_lifts
    step = truth.with_columns(moved=100 * pl.col("strength_kg").log().diff().over("athlete", "exercise"))
    wrong = step.filter((pl.col("moved") - pl.col("slope_pct_per_week")).abs() > 1e-6)
    assert wrong.is_empty()


def test_a_layoff_costs_strength_that_comes_back() -> None:
    world = World(layoffs_per_year=4.0, layoff_weeks=(4, 4), regress_share=0.0, cut_share=0.0)
    off = simulate_roster(world, 20, 26, 4)
    without = simulate_roster(World(layoffs_per_year=0.0, regress_share=0.0, cut_share=0.0), 20, 26, 4)
    both = off.truth_lifts.join(
        without.truth_lifts, on=["athlete", "exercise", "week_end"], suffix="_without"
    )
    assert (both["strength_kg"] < both["strength_kg_without"] * (1 + 1e-9)).all()
    assert off.calendar.filter(pl.col("kind") == "layoff").height > 0


def test_nobody_does_more_repetitions_than_they_can() -> None:
    # Without noise and with everything to failure, load and reps lie on or below the athlete's own curve.
    world = World(day_sd=0.0, lift_sd=0.0, bad_day_share=0.0, travel_per_year=0.0, superset_share=0.0)
    simulated = simulate_roster(world, 20, 16, 9)
    truth = simulated.truth_lifts
    day = simulated.sets.filter(
        pl.col("role").is_in(["working", "back_off"]), pl.col("reps") > 1
    ).with_columns(week_end=pl.col("date").dt.truncate("1w") + pl.duration(days=6))
    found = day.join(truth, on=["athlete", "exercise", "week_end"])
    # strength within the week is at most a week of progress away from its end
    assert found.filter(pl.col("load_kg") > pl.col("strength_kg") * 1.03).is_empty()


def test_progress_shows_in_the_loads() -> None:
    world = World(
        slope_pct_per_week=(0.8, 1.0), stall_share=0, regress_share=0, cut_share=0, non_response_share=0
    )
    simulated = simulate_roster(world, 10, 26, 2)
    top = (
        simulated.sets.filter(pl.col("role") == "working")
        .group_by("athlete", "exercise", "date")
        .agg(pl.max("load_kg"))
    )
    middle = pl.lit(LAST_DAY).dt.offset_by("-13w")
    halves = top.group_by("athlete", "exercise").agg(
        early=pl.col("load_kg").filter(pl.col("date") < middle).mean(),
        late=pl.col("load_kg").filter(pl.col("date") >= middle).mean(),
    )
    assert (halves["late"] / halves["early"]).median() > 1.05


def test_girths_follow_the_muscles_beneath_them() -> None:
    world = World(
        checkins_kept_share=1.0,
        girths_kept_share=1.0,
        tape_sd=0.0,
        cut_share=0.0,
        layoffs_per_year=0.0,
        slope_pct_per_week=(0.5, 1.0),
        stall_share=0.0,
        regress_share=0.0,
        neglected_share=0.0,
        non_response_share=0.0,
    )
    simulated = simulate_roster(world, 60, 40, 8)
    trained = simulated.truth_muscles.filter(pl.col("muscle") == "calves")
    calf = simulated.checkins.filter(pl.col("measure") == "calf", pl.col("side") == "left")
    calf = calf.join(trained, on="athlete", how="semi", maintain_order="left")
    grown = calf.group_by("athlete").agg(pl.col("value").last() / pl.col("value").first())["value"]
    assert grown.median() > 1.02
    assert set(calf["unit"]) == {"cm"}
