from dataclasses import replace
from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy.stats import norm

from analytics import schema
from analytics.catalogue import load_catalogue
from analytics.review import CAUTIONS, Evidence, attention_list, changes_between, cuts, headlines
from analytics.review.cut import FORCE_EXPONENT
from analytics.roster import Athlete, Phase, Roster

AS_OF = date(2026, 11, 22)
HERON = (Athlete(id="heron", name="Heron"),)


def trend(**own):
    row = {
        "athlete": "heron",
        "family": "squat",
        "exercises": "back_squat",
        "exercise": "back_squat",
        "strength_kg": 140.0,
        "strength_low_kg": 136.0,
        "strength_high_kg": 144.0,
        "slope_pct_per_week": 0.0,
        "slope_low": -0.2,
        "slope_high": 0.2,
        "p_progressing": 0.1,
        "p_stalled": 0.8,
        "p_regressing": 0.1,
        "state": "stalled",
        "since": date(2026, 9, 14),
        "weeks_in_state": 10.0,
        "forecast_kg": 140.0,
        "forecast_low_kg": 134.0,
        "forecast_high_kg": 146.0,
        "sessions": 30,
        "last_date": AS_OF,
        "why": "Flat for ten weeks.",
    }
    return row | own


def families(*rows):
    return schema.conform(pl.DataFrame(list(rows)), schema.FAMILIES)


def weight(pct_per_week, caution=False):
    row = {
        "athlete": "heron",
        "date": AS_OF,
        "bodyweight_kg": 80.0,
        "trend_kg": 80.0,
        "trend_low_kg": 79.0,
        "trend_high_kg": 81.0,
        "pct_per_week": pct_per_week,
        "pct_low": pct_per_week - 0.1,
        "pct_high": pct_per_week + 0.1,
        "phase": "cut",
        "band": "inside",
        "caution": caution,
        "why": "Losing.",
    }
    return schema.conform(pl.DataFrame([row]), schema.BODYWEIGHT)


def logged(athlete="heron", day=AS_OF, **own):
    row = dict.fromkeys(schema.SETS.names) | {
        "athlete": athlete,
        "date": day,
        "session": 1,
        "position": 1,
        "set_number": 1,
        "exercise": "back_squat",
        "exercise_as_logged": "Squat",
        "family": "squat",
        "role": "working",
        "role_source": "logged",
        "suspect": False,
        "source_file": "a.csv",
        "source_row": 2,
    }
    return row | own


def evidence(*rows, athletes=HERON, **own):
    sets = pl.DataFrame([logged(athlete.id) for athlete in athletes], infer_schema_length=None)
    found = {
        "as_of": AS_OF,
        "roster": Roster(title="t", athletes=tuple(athletes)),
        "catalogue": load_catalogue(),
        "sets": schema.conform(sets, schema.SETS),
        "ledger": schema.LEDGER.empty(),
        "calendar": schema.CALENDAR.empty(),
        "decisions": schema.DECISIONS.empty(),
        "lifts": lifts(*rows) if rows else schema.LIFTS.empty(),
        "families": families(*rows) if rows else schema.FAMILIES.empty(),
        "muscles": schema.MUSCLES.empty(),
        "bodyweight": schema.BODYWEIGHT.empty(),
    }
    return Evidence(**(found | own))


def test_a_stalled_lift_is_named_with_what_to_try():
    row = attention_list(evidence(trend())).row(0, named=True)
    assert (row["subject"], row["kind"], row["listed"]) == ("back_squat", "stalled", True)
    assert row["probability"] == pytest.approx(0.9)
    assert row["since"] == date(2026, 9, 14)
    assert row["try_next"]
    assert row["would_change"]


def test_the_list_ends_where_its_own_share_of_false_names_passes_the_limit():
    chances = [0.95, 0.8, 0.6, 0.3, 0.2, 0.1]
    rows = [
        trend(athlete=f"a{i}", p_stalled=p, p_regressing=0.0, p_progressing=1 - p)
        for i, p in enumerate(chances)
    ]
    athletes = tuple(Athlete(id=f"a{i}", name=f"a{i}") for i in range(len(chances)))
    shown = attention_list(evidence(*rows, athletes=athletes)).sort("probability", descending=True)
    wrong = [sum(1 - p for p in chances[: k + 1]) / (k + 1) for k in range(len(chances))]
    assert shown["expected_false_share"].to_list() == pytest.approx(wrong)
    assert shown["listed"].to_list() == [share <= 0.33 for share in wrong]


def test_the_stated_share_is_the_share_that_happens():
    # Entries that are wrong exactly as often as their probability says: the promise on the list must hold.
    rng = np.random.default_rng(20)
    false, listed, promised = 0, 0, 0.0
    for _ in range(60):
        chance = rng.beta(0.7, 0.7, 40)
        real = rng.random(40) < chance
        rows = [
            trend(athlete=f"a{i:02d}", p_stalled=p, p_regressing=0.0, p_progressing=1 - p)
            for i, p in enumerate(chance)
        ]
        athletes = tuple(Athlete(id=f"a{i:02d}", name="x") for i in range(40))
        shown = attention_list(evidence(*rows, athletes=athletes)).filter("listed")
        index = shown["athlete"].str.slice(1).cast(pl.Int32).to_numpy()
        false += int((~real[index]).sum())
        listed += len(index)
        promised += float(shown["expected_false_share"].max()) * len(index)
    assert false / listed == pytest.approx(promised / listed, abs=0.03)
    assert promised / listed <= 0.33


def test_in_a_cut_only_more_loss_than_bodyweight_explains_counts():
    cutting = (Athlete(id="heron", name="Heron", phases=(Phase(name="cut", start=date(2026, 10, 1)),)),)
    holding = attention_list(evidence(trend(), athletes=cutting))
    assert holding["probability"][0] < 0.4
    # Jaric 2002: force goes with bodyweight to the power 0.67, so -0.8 % a week explains -0.54 % a week.
    falling = trend(
        slope_pct_per_week=-0.5, slope_low=-0.7, slope_high=-0.3, p_regressing=0.98, p_stalled=0.02
    )
    explained = attention_list(evidence(falling, athletes=cutting, bodyweight=weight(-0.8)))
    alone = attention_list(evidence(falling, athletes=cutting))
    assert explained["probability"][0] < 0.3 < 0.9 < alone["probability"][0]
    sd = 0.2 / norm.ppf(0.9)
    assert explained["probability"][0] == pytest.approx(norm.cdf((-0.8 * FORCE_EXPONENT - 0.1 + 0.5) / sd))


def test_priorities_and_a_near_stage_come_first_but_change_no_probability():
    athletes = (
        Athlete(id="teal", name="Teal"),
        Athlete(id="heron", name="Heron", priority=("quads",)),
        Athlete(id="wren", name="Wren", stage_date=date(2027, 1, 2)),
    )
    rows = [trend(athlete=a.id) for a in athletes]
    shown = attention_list(evidence(*rows, athletes=athletes))
    assert shown["athlete"].to_list() == ["heron", "wren", "teal"]
    assert shown["probability"].n_unique() == 1


def test_silence_and_refused_files_are_facts():
    athletes = (Athlete(id="heron", name="Heron"), Athlete(id="wren", name="Wren"))
    sets = schema.conform(
        pl.DataFrame([logged(day=date(2026, 11, 1))], infer_schema_length=None), schema.SETS
    )
    row = dict.fromkeys(schema.LEDGER.names) | {
        "source_file": "exports/wren/a.csv",
        "athlete": "wren",
        "outcome": "refused",
        "message": "no unit",
    }
    ledger = pl.DataFrame([row], schema={c.name: c.dtype for c in schema.LEDGER.columns})
    shown = attention_list(evidence(athletes=athletes, sets=sets, ledger=ledger))
    assert set(shown["kind"]) == {"no_recent_log", "unreadable_file"}
    assert shown.filter(pl.col("kind") == "no_recent_log")["athlete"].to_list() == ["heron", "wren"]
    assert shown["listed"].all()
    assert shown["expected_false_share"].null_count() == shown.height


def test_an_athlete_who_has_nothing_to_judge_has_an_empty_list():
    assert attention_list(evidence()).is_empty()


def test_too_fast_a_cut_shows_the_caution():
    shown = attention_list(evidence(bodyweight=weight(-1.3, caution=True)))
    assert shown["kind"].to_list() == ["fast_weight_loss"]
    assert "supervision" in shown["try_next"][0]
    assert any("Rapid weight cuts" in words for words in CAUTIONS)


def tables(**own):
    empty = {t.name: t.empty() for t in (schema.LIFTS, schema.FAMILIES, schema.MUSCLES, schema.ATTENTION)}
    return empty | own


def lifts(*rows):
    return schema.conform(pl.DataFrame(list(rows)), schema.LIFTS)


def test_changes_tell_a_new_state_a_first_answer_and_what_left_the_list():
    was = evidence(trend())
    before = tables(lifts=lifts(trend(state="progressing", p_progressing=0.7)), attention=attention_list(was))
    now = tables(lifts=lifts(trend(), trend(exercise="leg_press")))
    found = changes_between(before, now)
    assert found["sentence"].to_list() == [
        "No longer on the attention list (stalled).",
        "Was progressing, is now stalled.",
        "First answer: stalled.",
    ]
    assert changes_between(now, now).is_empty()


def test_headlines_are_at_most_three_and_end_with_good_news():
    good = [trend(exercise=f"lift{i}", state="progressing", p_progressing=0.7 + i / 100) for i in range(5)]
    found = {"attention": attention_list(evidence(trend())), "lifts": lifts(*good)}
    names = pl.DataFrame({"athlete": ["heron"], "id": ["back_squat"], "name": ["Back squat"]})
    shown = headlines(found | {"cuts": schema.CUTS.empty(), "names": names})
    assert shown["kind"].to_list() == ["attention", "good_news", "good_news"]
    assert shown["sentence"][0].startswith("Back squat: stalled (no progress: 90 %)")
    assert shown["sentence"][1].startswith("lift4")


def test_a_limit_of_nothing_lists_only_what_is_counted():
    athletes = (*HERON, Athlete(id="wren", name="Wren"))
    silent = schema.conform(pl.DataFrame([logged()], infer_schema_length=None), schema.SETS)
    strict = evidence(trend(p_stalled=1.0, p_regressing=0.0), athletes=athletes, sets=silent)
    strict = replace(strict, roster=replace(strict.roster, false_share=0.0))
    assert attention_list(strict).filter("listed")["kind"].to_list() == ["no_recent_log"]


def muscle(name="quads", **own):
    row = dict.fromkeys(schema.MUSCLES.names) | {
        "athlete": "heron",
        "muscle": name,
        "weekly_sets": 12.0,
        "lifts": 1,
        "p_lagging": 0.9,
        "state": "not_responding",
        "state_low": "not_responding",
        "state_high": "not_responding",
        "why": "No response.",
    }
    return pl.DataFrame([row | own], schema={c.name: c.dtype for c in schema.MUSCLES.columns})


def test_one_cause_is_told_once():
    both = pl.concat([muscle("quads"), muscle("glutes", p_lagging=0.8)])
    by_lift = attention_list(evidence(trend(), muscles=both))
    assert by_lift["subject"].to_list() == ["back_squat"]
    quiet = trend(p_stalled=0.2, p_regressing=0.0, p_progressing=0.8, state="progressing")
    by_group = attention_list(evidence(quiet, muscles=both)).filter("listed")
    assert by_group["subject"].to_list() == ["quads"]


def test_a_lift_names_the_groups_that_it_tells_and_no_advice_speaks_against_them():
    both = pl.concat([muscle("quads"), muscle("glutes", p_lagging=0.8)])
    open_call = trend(state="unsure", p_stalled=0.5, p_regressing=0.1, p_progressing=0.4)
    row = attention_list(evidence(open_call, muscles=both)).row(0, named=True)
    assert row["evidence"].endswith("Not responding with it: Quads, Glutes (behind: 0.80 to 0.90).")
    assert row["try_next"].startswith("Keep the number of sets; change")
    fine = trend(exercise="leg_extension", family="knee_extension", p_stalled=0.1, p_progressing=0.8)
    beside = attention_list(evidence(open_call, fine, muscles=muscle("quads")))
    assert set(beside.filter("listed")["subject"]) == {"quads", "back_squat"}
    assert beside.filter("listed")["try_next"].n_unique() == 1, "the group and its lift get one advice"
    every = dict.fromkeys(("state", "state_low", "state_high"), "underdosed")
    low = muscle(weekly_sets=2.5, aim_low=8.0, **every)
    short = attention_list(evidence(open_call, muscles=low)).filter(subject_kind="lift").row(0, named=True)
    assert short["try_next"] == "Raise the work first: 2.5 sets a week for quads, below the aim of 8."
    alone = attention_list(evidence(open_call)).row(0, named=True)
    assert alone["try_next"].startswith("Keep the plan")
    assert "with it" not in alone["evidence"]


def test_a_decision_about_another_lift_is_told_with_its_name():
    row = {
        "date": date(2026, 9, 13),
        "athlete": "heron",
        "subject": "back_squat",
        "what": "Less.",
        "why": None,
    }
    decided = pl.DataFrame([row], schema={c.name: c.dtype for c in schema.DECISIONS.columns})
    quiet = trend(p_stalled=0.2, p_regressing=0.0, p_progressing=0.8, state="progressing")
    shown = attention_list(evidence(quiet, muscles=muscle(), decisions=decided)).filter(subject="quads")
    assert shown["try_next"][0].startswith("Tried 13 Sep, Back squat: Less. ")


def test_a_swapped_family_is_told_as_one_and_a_lone_exercise_by_its_own_row():
    pair = (trend(), trend(exercise="hack_squat"))
    together = families(trend(exercises="back_squat, hack_squat", p_stalled=0.6))
    shown = attention_list(evidence(*pair, families=together))
    assert shown.select("subject", "subject_kind").rows() == [("squat", "family")]
    other = families(trend(p_stalled=0.1, p_progressing=0.8))
    alone = attention_list(evidence(trend(), families=other))
    assert alone["probability"][0] == pytest.approx(0.9)


def test_what_was_decided_stands_before_what_to_try():
    row = {
        "date": date(2026, 9, 13),
        "athlete": "heron",
        "subject": "squat",
        "what": "Two more sets a week.",
        "why": None,
    }
    decided = pl.DataFrame([row], schema={c.name: c.dtype for c in schema.DECISIONS.columns})
    shown = attention_list(evidence(trend(), decisions=decided))
    assert shown["try_next"][0].startswith("Tried 13 Sep: Two more sets a week. ")


def test_after_an_easy_week_the_next_sessions_are_awaited():
    week = {"from": date(2026, 11, 16), "to": AS_OF}
    easy = pl.DataFrame(
        [{"athlete": "heron", "kind": "deload", "note": None} | week],
        schema_overrides={"note": pl.String},
    )
    shown = attention_list(evidence(trend(), calendar=schema.conform(easy, schema.CALENDAR)))
    assert "next three sessions" in shown["try_next"][0]


def test_work_below_the_aim_by_every_count_is_no_judgement():
    every = dict.fromkeys(("state", "state_low", "state_high"), "underdosed")
    low = muscle(weekly_sets=3.0, aim_low=8.0, aim_high=16.0, **every)
    row = attention_list(evidence(muscles=low)).row(0, named=True)
    assert (row["kind"], row["probability"], row["expected_false_share"]) == ("too_little_work", 1.0, None)
    assert row["try_next"].startswith("From 3 to 8 sets a week")
    listed = attention_list(evidence(trend(), muscles=low))
    assert listed["subject"].to_list() == ["quads", "back_squat"], (
        "first the work, then the lift that lacks it"
    )


def test_a_cut_tells_what_is_held():
    cutting = (Athlete(id="heron", name="Heron", phases=(Phase(name="cut", start=date(2026, 8, 31)),)),)
    slope = {"slope_pct_per_week": -1.0, "slope_low": -1.2, "slope_high": -0.8}
    lost = trend(exercise="bench_press", family="bench", **slope)
    found = evidence(trend(), lost, athletes=cutting)
    table = cuts(found)
    assert table.select("weeks", "lifts", "held", "lost", "weakest").row(0) == (12, 2, 1, 1, "bench_press")
    names = pl.DataFrame(schema={"athlete": pl.String, "id": pl.String, "name": pl.String})
    told = headlines(
        {"attention": attention_list(found), "lifts": found.lifts, "cuts": table, "names": names}
    )
    assert told["kind"][0] == "cut"
    assert told["sentence"][0].startswith("Cut, week 12: strength is held in 1 of 2 lifts")
    easy = trend(
        exercise="bench_press", family="bench", slope_pct_per_week=0.1, slope_low=0.05, slope_high=0.15
    )
    safe = cuts(evidence(trend(slope_low=-0.01, slope_high=0.01), easy, athletes=cutting))
    assert safe.select("lost", "weakest").row(0) == (0, "back_squat"), "of safe lifts the one of lowest slope"
    told = headlines(
        {"attention": schema.ATTENTION.empty(), "lifts": found.lifts, "cuts": safe, "names": names}
    )
    assert "clearly lost in none." in told["sentence"][0]
