from dataclasses import replace
from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy.stats import norm

from analytics import schema
from analytics.catalogue import load_catalogue
from analytics.review import CAUTIONS, Evidence, attention_list, changes_between, headlines
from analytics.review.candidates import FORCE_EXPONENT
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
        "lifts": schema.LIFTS.empty(),
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
    before = tables(lifts=lifts(trend(state="progressing")), attention=attention_list(was))
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
    shown = headlines(
        {"attention": attention_list(evidence(trend())), "lifts": lifts(*good)}, {"back_squat": "Back squat"}
    )
    assert shown["kind"].to_list() == ["attention", "good_news", "good_news"]
    assert shown["sentence"][0].startswith("Back squat: stalled (probability 90 %)")
    assert shown["sentence"][1].startswith("lift4")


def test_a_limit_of_nothing_lists_only_what_is_counted():
    athletes = (*HERON, Athlete(id="wren", name="Wren"))
    silent = schema.conform(pl.DataFrame([logged()], infer_schema_length=None), schema.SETS)
    strict = evidence(trend(p_stalled=1.0, p_regressing=0.0), athletes=athletes, sets=silent)
    strict = replace(strict, roster=replace(strict.roster, false_share=0.0))
    assert attention_list(strict).filter("listed")["kind"].to_list() == ["no_recent_log"]
