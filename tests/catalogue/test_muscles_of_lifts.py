"""Muscle assignments against muscle actions and against the evidence on indirect work."""

import polars as pl
import pytest

from analytics.catalogue import Catalogue, Exercise, load_catalogue

CATALOGUE = load_catalogue()

# Joint action of a family, and the group that a textbook names for it.
# Source: OpenStax Anatomy & Physiology, modules m46495 (pectoral girdle and upper limbs), m46482 (pelvic
# girdle and lower limbs), m46487 (agonist and antagonist pairs).
ACTIONS = {
    "knee_extension": "quads",  # m46487: the quadriceps extend the knee
    "knee_flexion": "hamstrings",  # m46487: the hamstrings flex the leg
    "elbow_flexion": "biceps",  # m46487: the biceps flexes the forearm
    "elbow_extension": "triceps",  # m46487: the triceps extends the forearm
    "wrist": "forearms",  # m46487: flexors and extensors of the hand lie in the forearm
    "shoulder_raise_side": "side_delts",  # m46495: the deltoid is the major abductor of the arm
    "shoulder_raise_front": "front_delts",  # m46487: the anterior fascicle flexes the arm
    "vertical_press": "front_delts",  # m46487: the same
    "rear_fly": "rear_delts",  # m46495: the deltoid also extends and laterally rotates the arm
    "shrug": "upper_traps",  # m46495: the trapezius elevates the shoulders (shrugging)
    "chest_fly": "chest",  # m46495: the pectoralis major brings the elbows together
    "incline_press": "chest",  # m46495: and moves the elbows up
    "vertical_pull": "lats",  # m46495: muscles that lower the humerus come from the back (latissimus)
    "shoulder_extension": "lats",  # m46495: the latissimus moves the elbow back
    "hip_extension": "glutes",  # m46482: the gluteus maximus moves the thigh back
    "hip_abduction": "glutes",  # m46482: gluteus medius and tensor fasciae latae abduct the thigh
    "hip_adduction": "adductors",  # m46482: the medial compartment adducts the femur
    "calf_raise": "calves",  # m46482: the posterior compartment of the leg flexes the foot downwards
    "calf_raise_seated": "calves",  # m46482: the same
}


@pytest.mark.parametrize("family", sorted(ACTIONS))
def test_prime_mover_of_a_family_is_the_textbooks(family: str) -> None:
    members = [exercise for exercise in CATALOGUE.exercises.values() if exercise.family == family]
    assert members
    assert [exercise.id for exercise in members if ACTIONS[family] not in exercise.direct] == []


@pytest.mark.parametrize("family", ["knee_extension", "elbow_extension", "calf_raise", "hip_adduction"])
def test_single_joint_families_have_one_prime_mover_unless_several_joints_move(family: str) -> None:
    members = [e for e in CATALOGUE.exercises.values() if e.family == family and e.kind == "isolation"]
    assert [exercise.id for exercise in members if exercise.direct != (ACTIONS[family],)] == []


def test_squats_and_leg_presses_give_no_hamstring_credit() -> None:
    # Schoenfeld, Grgic, Haun, Itagaki, Helms 2019, Sports 7:177: leg press and squat do not maximise the
    # activation of the hamstrings, and multi-joint sets should count fractionally at most.
    members = [e for e in CATALOGUE.exercises.values() if e.family in ("squat", "leg_press", "split_squat")]
    assert len(members) > 20
    assert [exercise.id for exercise in members if "hamstrings" in exercise.shares] == []


@pytest.mark.parametrize(
    ("exercise", "prime", "helper"),
    [
        # Mannarino et al. 2021, JSCR 35:2677 (row) and Gentil et al. 2015, Asian J Sports Med 6:e24057
        # (pulldown): pulling trains the elbow flexors, a curl at least as much.
        ("barbell_row", "lats", "biceps"),
        ("dumbbell_row", "lats", "biceps"),
        ("lat_pulldown", "lats", "biceps"),
        # Brandao et al. 2020, JSCR 34:1254: pressing trains chest and triceps.
        ("bench_press", "chest", "triceps"),
    ],
)
def test_helpers_of_presses_and_pulls_count_half(exercise: str, prime: str, helper: str) -> None:
    # One half: fractional count of Pelland et al. 2025, Sports Med, doi 10.1007/s40279-025-02344-w.
    shares = CATALOGUE.exercises[exercise].shares
    assert (shares[prime], shares[helper]) == (1.0, 0.5)


@pytest.mark.parametrize(
    ("sets", "muscle", "total", "fractional", "direct"),
    [
        # Counting rule of Pelland et al. 2025: an indirect set counts 1, 0.5 or 0.
        ({"bench_press": 4, "triceps_pushdown": 3}, "triceps", 7, 5.0, 3),
        ({"barbell_row": 5, "barbell_curl": 6}, "biceps", 11, 8.5, 6),
    ],
)
def test_shares_give_the_three_counts(
    sets: dict[str, int], muscle: str, total: int, fractional: float, direct: int
) -> None:
    done = pl.DataFrame({"exercise": list(sets), "sets": list(sets.values())})
    rows = done.join(CATALOGUE.shares().filter(pl.col("muscle") == muscle), on="exercise")
    assert total == rows["sets"].sum()
    assert fractional == (rows["sets"] * rows["share"]).sum()
    assert direct == rows.filter("direct")["sets"].sum()


# The project's working table of assignments (derived from the muscle actions above and textbooks, from
# memory): prime movers / assisting muscles.
TABLE = """
bench_press: chest / triceps front_delts
dumbbell_bench_press: chest / triceps front_delts
incline_bench_press: chest front_delts / triceps
decline_bench_press: chest / triceps front_delts
close_grip_bench_press: triceps / chest front_delts
machine_chest_press: chest / triceps front_delts
push_up: chest / triceps front_delts abs
dip: chest triceps / front_delts
cable_fly: chest / front_delts
dumbbell_fly: chest / front_delts
pec_deck: chest / front_delts
overhead_press: front_delts / triceps side_delts
dumbbell_shoulder_press: front_delts / triceps side_delts
machine_shoulder_press: front_delts / triceps side_delts
push_press: front_delts / triceps side_delts quads
lateral_raise: side_delts / upper_traps
front_raise: front_delts / chest
reverse_fly: rear_delts / upper_back
face_pull: rear_delts upper_back / biceps
upright_row: side_delts upper_traps / biceps
shrug: upper_traps / forearms
pull_up: lats / biceps upper_back forearms
chin_up: lats / biceps upper_back
lat_pulldown: lats / biceps upper_back
straight_arm_pulldown: lats / triceps rear_delts
barbell_row: lats upper_back / biceps rear_delts erectors
dumbbell_row: lats upper_back / biceps rear_delts
seated_cable_row: upper_back lats / biceps rear_delts
chest_supported_row: upper_back lats / biceps rear_delts
t_bar_row: lats upper_back / biceps rear_delts erectors
barbell_curl: biceps / forearms
dumbbell_curl: biceps / forearms
hammer_curl: biceps / forearms
preacher_curl: biceps / forearms
triceps_pushdown: triceps /
overhead_triceps_extension: triceps /
lying_triceps_extension: triceps /
wrist_curl: forearms /
reverse_curl: forearms biceps /
back_squat: quads glutes / adductors erectors
front_squat: quads / glutes adductors erectors
hack_squat: quads / glutes adductors
leg_press: quads / glutes adductors
leg_extension: quads /
split_squat: quads glutes / adductors
lunge: quads glutes / adductors
step_up: quads glutes / adductors
goblet_squat: quads / glutes adductors
deadlift: glutes erectors hamstrings / quads adductors upper_traps forearms
sumo_deadlift: glutes quads / adductors hamstrings erectors forearms
trap_bar_deadlift: glutes quads / hamstrings erectors forearms
romanian_deadlift: hamstrings glutes / erectors adductors forearms
good_morning: hamstrings erectors / glutes
hip_thrust: glutes / hamstrings
back_extension: erectors glutes / hamstrings
lying_leg_curl: hamstrings / calves
seated_leg_curl: hamstrings / calves
nordic_curl: hamstrings / calves
glute_kickback: glutes / hamstrings
hip_abduction: glutes /
hip_adduction: adductors /
standing_calf_raise: calves /
seated_calf_raise: calves /
crunch: abs /
hanging_leg_raise: abs /
plank: abs /
ab_wheel_rollout: abs / lats
"""


@pytest.mark.parametrize("row", TABLE.strip().splitlines(), ids=lambda row: row.split(":")[0])
def test_checked_entries_stand_in_the_working_table(row: str) -> None:
    exercise_id, muscles = row.split(":")
    direct, assisting = (set(part.split()) for part in muscles.split("/"))
    exercise = CATALOGUE.exercises[exercise_id]
    assert (direct, assisting) == (set(exercise.direct), set(exercise.assisting))
    assert exercise.basis == "checked"


def test_what_is_called_checked_is_in_the_table_or_the_same_lift_with_another_implement() -> None:
    listed = {row.split(":")[0]: row for row in TABLE.strip().splitlines()}
    same = {
        "incline_dumbbell_press": "incline_bench_press",
        "barbell_shrug": "shrug",
        "dumbbell_shrug": "shrug",
        "bulgarian_split_squat": "split_squat",
    }
    for exercise in CATALOGUE.exercises.values():
        if exercise.basis == "checked" and exercise.id not in listed:
            assert CATALOGUE.exercises[same[exercise.id]].shares == exercise.shares


def trained(catalogue: Catalogue, muscle: str) -> list[Exercise]:
    return [exercise for exercise in catalogue.exercises.values() if muscle in exercise.direct]


@pytest.mark.parametrize("muscle", CATALOGUE.muscles)
def test_every_muscle_group_is_prime_mover_of_at_least_three_lifts(muscle: str) -> None:
    assert len(trained(CATALOGUE, muscle)) >= 3


def test_every_lift_has_a_prime_mover_and_shares_are_shares() -> None:
    for exercise in CATALOGUE.exercises.values():
        assert exercise.direct
        assert all(exercise.shares[muscle] == 1.0 for muscle in exercise.direct)
        assert all(0 < share <= 1 for share in exercise.shares.values())
        assert set(exercise.shares) <= set(CATALOGUE.muscles)


@pytest.mark.parametrize(
    ("exercise", "share"),
    [
        ("pull_up", 1.0),
        ("dip", 1.0),
        ("back_squat", 0.0),
        ("lat_pulldown", 0.0),
        # Ebben et al. 2011, JSCR 25:2891, ground reaction force of push-up variations, from memory.
        ("push_up", 0.64),
        ("knee_push_up", 0.49),
        ("feet_elevated_push_up", 0.74),
    ],
)
def test_share_of_bodyweight(exercise: str, share: float) -> None:
    assert share == CATALOGUE.exercises[exercise].bodyweight_share
