from datetime import date

import polars as pl

from analytics.intake import read_folder
from analytics.muscles import count_weeks

ROSTER = '[defaults]\nunit = "kg"\n[[athlete]]\nid = "heron"\n'
LOG = """Date,Exercise,Weight (kg),Reps
2026-11-16,Leg press,200,10
2026-11-18,Leg press (gym B),140,10
2026-11-18,Bench press (warm-up),40,15
2026-11-18,Bench press,80,8
2026-11-20,Moon lift (gym B),20,10
"""


def test_a_lift_in_another_gym_is_read_apart_and_counts_for_its_muscles(tmp_path):
    (tmp_path / "exports" / "heron").mkdir(parents=True)
    (tmp_path / "roster.toml").write_text(ROSTER)
    (tmp_path / "exports" / "heron" / "log.csv").write_text(LOG)
    intake = read_folder(tmp_path, date(2026, 11, 22))
    presses = intake.sets.filter(family="leg_press").sort("date")
    assert presses["exercise"].n_unique() == 2
    assert presses["exercise"][0] == "leg_press"
    assert intake.unknown_exercises["exercise_as_logged"].to_list() == ["Moon lift (gym B)"]
    assert "Bench press (warm-up)" not in {one.name for one in intake.catalogue.exercises.values()}
    weeks = count_weeks(intake.sets, intake.catalogue, date(2026, 11, 22))
    assert weeks.filter(pl.col("muscle") == "quads")["direct_sets"].to_list() == [2.0]
