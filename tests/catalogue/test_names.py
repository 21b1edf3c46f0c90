"""Logged names: what is the same lift, what is a misspelling of it, and what must stay apart."""

import random
import unicodedata

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analytics.catalogue import load_catalogue
from analytics.catalogue.matching import CLOSE, LISTED, Matcher
from analytics.catalogue.naming import fold, own_id, tokens

CATALOGUE = load_catalogue()


def meant(name: str) -> str | None:
    row = CATALOGUE.match([name]).row(0, named=True)
    return None if row["how"] == "unknown" else row["exercise"]


# Ways to write a name that lifters use: common practice, no source.
WRITTEN = {
    "back_squat": "squats|SQUAT|Back-Squat|squat, barbell|BB squat|Squat (barbell)|squats 5x5|bs",
    "bench_press": "BP|Bench|bench press - left|Benchpress|Bench Press (warm-up)|Barbell Bench-Press",
    "paused_bench_press": "Bench press (paused)|pause bench",
    "dumbbell_bench_press": "DB press|db bench|Bench press (DB)|dumbbell bench|Flat DB Bench Press",
    "close_grip_bench_press": "CGBP|close-grip bench|CG bench press",
    "incline_dumbbell_press": "Incline DB press|inc. dumbbell press|incline press (dumbbell)",
    "overhead_press": "OHP|military press|barbell overhead press|overhead press (barbell)|over head press",
    "romanian_deadlift": "RDL|RDLs|Romanian DL|Barbell RDL|romanian dead lift",
    "stiff_leg_deadlift": "SLDL|stiff-legged deadlift|straight leg deadlifts",
    "lat_pulldown": "lat pull down|Lat Pull-Downs|latpulldown|pulldowns|lat pulldown (cable)",
    "wide_grip_lat_pulldown": "wide grip pulldown|lat pulldown wide grip|WG lat pulldown",
    "close_grip_lat_pulldown": "narrow grip pulldown|close grip lat pulldown|lat pulldown - close grip",
    "pull_up": "pullups|pull ups|Pull-Ups|weighted pull-up|BW pull up",
    "chin_up": "chins|chin ups|chinups",
    "dip": "dips|weighted dips|parallel bar dips",
    "dumbbell_row": "DB row|one-arm DB row|1-arm dumbbell row|single arm row|dumbbell rows",
    "barbell_row": "bent over rows|BB row|bent-over barbell row|barbell bent over row",
    "seated_cable_row": "seated rows|cable row|seated cable rows",
    "leg_extension": "leg ext.|leg extensions|leg extension machine|machine leg extension|knee extension",
    "leg_curl": "leg curls|leg curl machine|hamstring curl",
    "lying_leg_curl": "laying leg curl|lying hamstring curls|leg curl (lying)|prone leg curl",
    "seated_leg_curl": "seated leg curls|leg curl, seated|seated hamstring curl",
    "lateral_raise": "lat raises|side raises|DB lateral raise|lateral raise (right)|drop set lateral raise",
    "reverse_fly": "rear delt flyes|reverse flies|rear delt fly",
    "triceps_pushdown": "pushdowns|tricep push-down|triceps pressdown|cable tricep pushdown",
    "rope_pushdown": "tricep pushdown w/ rope|rope push downs",
    "lying_triceps_extension": "skullcrushers|skull crushers|EZ bar skullcrusher",
    "ez_bar_curl": "EZ curl|e-z bar curl|EZ-bar curls",
    "hip_thrust": "hip thrusts|barbell hip thrust|hipthrust",
    "farmers_carry": "farmer's walk|farmers walks|Farmer’s carry",
    "smith_squat": "Squat (Smith machine)|smith squat|smith machine squats",
    "l_sit": "L-sit|l sit",
    "lunge": "Lunges (each leg)|A1. Lunges|B2 Lunge|3) lunges|Lunge (L)|lunge - R|Zancadas (izquierda)",
    "goblet_squat": "superset: goblet squat|Goblet squat AMRAP|rest-pause goblet squat|goblet squat 5RM",
    "y_raise": "Y raise|y-raises",
    "clean_and_jerk": "C&J|clean & jerk|clean + jerk",
}


@pytest.mark.parametrize("exercise", sorted(WRITTEN))
def test_ways_to_write_a_name(exercise: str) -> None:
    wrong = {name: meant(name) for name in WRITTEN[exercise].split("|") if meant(name) != exercise}
    assert wrong == {}


# German, Spanish, French, Italian, Portuguese, Dutch names of the trade: common practice, no source.
FOREIGN = {
    "back_squat": "Kniebeugen|Sentadillas|Agachamento livre|Squat con bilanciere|Kniebuiging",
    "bench_press": "Bankdruecken|Press de banca|Développé couché|Panca piana|Supino reto|Bankdrukken",
    "deadlift": "Kreuzheben|Peso muerto|Soulevé de terre|Stacco da terra|Levantamento terra",
    "romanian_deadlift": "Rumänisches Kreuzheben|rumaenisches kreuzheben|Peso muerto rumano|Stacco rumeno",
    "pull_up": "Klimmzüge|Dominadas|Tractions|Trazioni alla sbarra|Barra fixa|Optrekken",
    "leg_press": "Beinpresse|Prensa de piernas|Presse à cuisses|Pressa|Beenpers",
    "leg_extension": "Beinstrecker|Extensión de cuádriceps|Extension des jambes|Cadeira extensora",
    "lateral_raise": "Seitheben|Elevaciones laterales|elevations laterales|Alzate laterali",
    "hip_abduction": "Abduktoren|Abducteurs|Cadeira abdutora|Abduttori",
    "hip_adduction": "Adduktoren|Adducteurs|Cadeira adutora|Adduttori",
}


@pytest.mark.parametrize("exercise", sorted(FOREIGN))
def test_names_in_other_languages(exercise: str) -> None:
    wrong = {name: meant(name) for name in FOREIGN[exercise].split("|") if meant(name) != exercise}
    assert wrong == {}


MISSPELT = {
    "sqaut": "back_squat",
    "back sqaut": "back_squat",
    "fornt squat": "front_squat",
    "hack sqaut": "hack_squat",
    "bulgarain split squat": "bulgarian_split_squat",
    "gobelt squats": "goblet_squat",
    "bench pres": "bench_press",
    "bech press": "bench_press",
    "incline dumbell press": "incline_dumbbell_press",
    "incline dumbel bench press": "incline_dumbbell_press",
    "militry press": "overhead_press",
    "overhed press": "overhead_press",
    "sholder press": "shoulder_press",
    "latteral raise": "lateral_raise",
    "latreal raises": "lateral_raise",
    "deadlfit": "deadlift",
    "romainan deadlift": "romanian_deadlift",
    "Romainian deadlifts": "romanian_deadlift",
    "lat puldown": "lat_pulldown",
    "lat pulldwon": "lat_pulldown",
    "leg extention": "leg_extension",
    "leg extesnions": "leg_extension",
    "leg prss": "leg_press",
    "lying leg crul": "lying_leg_curl",
    "seted row": "seated_cable_row",
    "barbel row": "barbell_row",
    "face pul": "face_pull",
    "hammar curl": "hammer_curl",
    "precher curl": "preacher_curl",
    "tricpe extension": "triceps_extension",
    "standing calve raises": "standing_calf_raise",
    "hip trust": "hip_thrust",
    "hip abduciton": "hip_abduction",
    "hip adductoin": "hip_adduction",
    "dévelopé couché": "bench_press",
    "bankdruken": "bench_press",
    "sentadila": "back_squat",
    "Kruezheben": "deadlift",
}


@pytest.mark.parametrize("name", sorted(MISSPELT))
def test_misspellings(name: str) -> None:
    assert MISSPELT[name] == meant(name)


APART = [
    ("front squat", "hack squat"),
    ("back squat", "hack squat"),
    ("front squat", "split squat"),
    ("leg curl", "leg press"),
    ("incline press", "incline curl"),
    ("seated row", "upright row"),
    ("leg extension", "hip extension"),
    ("leg extension", "back extension"),
    ("lying leg curl", "seated leg curl"),
    ("lying leg curl", "leg curl"),
    ("triceps extension", "leg extension"),
    ("tricep machine", "bicep machine"),
    ("cable tricep kickback", "cable glute kickback"),
    ("hip abduction", "hip adduction"),
    ("abductor machine", "adductor machine"),
    ("Abduktoren", "Adduktoren"),
    ("cadeira abdutora", "cadeira adutora"),
    ("wide grip pulldown", "narrow grip pulldown"),
    ("wide grip bench", "narrow grip bench press"),
    ("wide grip pull up", "pull up"),
    ("pull up", "push up"),
    ("pulldown", "pushdown"),
    ("chin up", "pull up"),
    ("incline bench press", "decline bench press"),
    ("front raise", "leg raise"),
    ("lateral raise", "seated lateral raise"),
    ("standing calf raise", "seated calf raise"),
    ("bench press", "bench dip"),
    ("bench press", "paused bench press"),
    ("bench press", "dumbbell bench press"),
    ("squat", "smith squat"),
    ("shoulder press", "shoulder shrug"),
    ("rdl", "sldl"),
    ("rdl", "db rdl"),
    ("ohp", "ohs"),
    ("high to low cable fly", "low to high cable fly"),
    ("curl", "reverse curl"),
    ("wrist curl", "reverse wrist curl"),
    ("barbell row", "dumbbell row"),
    ("chest press", "leg press"),
    ("hammer curl", "spider curl"),
    ("sumo deadlift", "deadlift"),
    ("opdrukken", "optrekken"),
]


@pytest.mark.parametrize(("one", "other"), APART)
def test_unlike_lifts_stay_apart(one: str, other: str) -> None:
    found = CATALOGUE.match([one, other])
    assert found["exercise"].n_unique() == 2


@pytest.mark.parametrize(
    "name",
    [
        # too little said
        "press",
        "rows",
        "curls",
        "extension",
        "raises",
        "flyes",
        "kickbacks",
        "cable kickback",
        "machine",
        "cable",
        "weighted",
        "2",
        "hip",
        # a variation or a place that makes other loads; unknown, not wrong
        "slow squat",
        "leg press (narrow)",
        "tempo bench press 3-1-1",
        "squat with chains",
        "Leg press (gym B)",
        "leg press hotel",
        "pin squat",
        "banded deadlift",
        "1.5 rep squat",
        # may be either of two
        "hip aduction",
        # two lifts in one cell
        "bench press / barbell row",
        "leg extension + leg curl",
        # no such lift
        "bicep extension",
        "tricep curl",
        "hip press",
        "side squat",
        "Treadmill",
        "rest day",
    ],
)
def test_unclear_names_stay_unknown(name: str) -> None:
    row = CATALOGUE.match([name]).row(0, named=True)
    assert (row["how"], row["family"], row["score"]) == ("unknown", None, 0.0)
    assert row["exercise"] not in CATALOGUE.exercises


def test_composed_and_decomposed_forms_are_one_name() -> None:
    # UAX #15: NFC and NFD of a text are canonically equivalent.
    for exercise in CATALOGUE.exercises.values():
        for name in exercise.names:
            forms = {unicodedata.normalize(form, name) for form in ("NFC", "NFD", "NFKC", "NFKD")}
            assert len({meant(form) for form in forms}) == 1
    assert own_id("Übung ñ") == own_id(unicodedata.normalize("NFD", "Übung ñ"))


def test_full_width_letters_and_ligatures_are_folded() -> None:
    # UAX #15, compatibility mappings: full-width letters, the ligature fi.
    assert meant("ＢＥＮＣＨ ｐｒｅｓｓ") == "bench_press"
    assert fold("ﬂat") == "flat"
    assert fold("STRAẞE") == fold("strasse")  # Unicode case folding: sharp s folds to ss


def test_one_row_per_distinct_name_sorted() -> None:
    found = CATALOGUE.match(["squat", "Leg press", "squat", "zz top row"])
    assert found["as_logged"].to_list() == ["Leg press", "squat", "zz top row"]
    assert found.columns == ["as_logged", "exercise", "family", "how", "score"]
    assert CATALOGUE.match([]).height == 0
    assert CATALOGUE.match([]).schema == found.schema


HOSTILE = [
    "",
    " ",
    "!!!",
    "=cmd|' /C calc'!A0",
    "<script>alert(1)</script>",
    "\x00\x01",
    "../../etc/passwd",
    "a" * 100_000,
    "squat " * 20_000,
    "\u202eotauqs",
    "💪",
    "スクワット",
    "back_squat; drop table",
    "own-squat",
]


@pytest.mark.parametrize("name", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_names_get_a_short_id_of_their_own(name: str) -> None:
    assert meant(name) is None
    exercise = own_id(name)
    assert exercise.startswith("own-")
    assert len(exercise) <= 100
    assert all(sign.isalnum() or sign == "-" for sign in exercise)


@given(st.text(max_size=80))
def test_any_text_gets_an_answer_that_does_not_depend_on_the_others(name: str) -> None:
    alone = CATALOGUE.match([name]).row(0)
    among = CATALOGUE.match(["squat", name, "Leg press (gym B)"]).filter(pl.col("as_logged") == name).row(0)
    assert alone == among
    if alone[3] == "unknown":
        assert alone[1] not in CATALOGUE.exercises
        assert "-" in alone[1]


def test_different_unknown_names_keep_different_ids() -> None:
    names = ["gym A press", "gym B press", "press gym A", "!!!", "???", "a" * 500, "a" * 501]
    assert len(names) == CATALOGUE.match(names)["exercise"].n_unique()


def test_same_unknown_lift_written_alike_is_one() -> None:
    names = ["Quarry  Row", "quarry-row", "QUARRY ROWS"]
    assert CATALOGUE.match(names)["exercise"].n_unique() == 1


def with_slip(name: str, chance: random.Random) -> str:
    at = chance.choice([i for i, sign in enumerate(name) if sign.isalpha()])
    slip = chance.randrange(4)
    if slip == 0:
        return name[:at] + name[at + 1 :]
    if slip == 1:
        return name[:at] + name[at] + name[at:]
    if slip == 2 and name[at + 1 : at + 2].isalpha():
        return name[:at] + name[at + 1] + name[at] + name[at + 2 :]
    return name[:at] + chance.choice("abcdefghijklmnopqrstuvwxyz") + name[at + 1 :]


def test_slips_of_the_finger_find_their_lift_or_none() -> None:
    # One random slip in each listed name of two words or more: lost, doubled, swapped or wrong letter.  The
    # bound on wrong answers is the one that matters; it is what CLOSE was chosen by.
    chance = random.Random(0)
    names = [(name, e.id) for e in CATALOGUE.exercises.values() for name in (e.name, *e.names)]
    pairs = [(with_slip(name, chance), exercise) for name, exercise in names if len(tokens(name)) >= 2]
    slips = pl.DataFrame(pairs, schema=["as_logged", "wanted"], orient="row").unique("as_logged")
    found = slips.join(CATALOGUE.match(slips["as_logged"].to_list()), on="as_logged")
    right = (found["exercise"] == found["wanted"]).mean()
    wrong = found.filter((pl.col("exercise") != pl.col("wanted")) & (pl.col("how") != "unknown"))
    assert right > 0.75
    assert wrong.height / found.height < 0.003, wrong


def test_a_lift_that_the_catalogue_lacks_does_not_become_another() -> None:
    # Each lift is taken out in turn: none of its names may then be read as a misspelling of another lift.
    rows = [(name, e.id, LISTED) for e in CATALOGUE.exercises.values() for name in (e.id, e.name, *e.names)]
    taken = 0
    for exercise in list(CATALOGUE.exercises.values())[::5]:
        matcher = Matcher(row for row in rows if row[1] != exercise.id)
        for name in (exercise.name, *exercise.names):
            taken += matcher.match(name).how == "spelling"
    assert taken <= 1


def test_a_score_is_given_for_close_spellings_only() -> None:
    found = CATALOGUE.match([*MISSPELT, "squat", "no such thing"])
    close = found.filter(pl.col("how") == "spelling")
    assert close["score"].is_between(CLOSE, 100, closed="left").all()
    assert found.filter(pl.col("how") == "name")["score"].eq(100.0).all()
