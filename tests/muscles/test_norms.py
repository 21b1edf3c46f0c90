import pytest

from analytics.catalogue.exercise import ASSISTING_SHARE
from analytics.muscles.norms import prep_band, volume_band


@pytest.mark.parametrize("sets, band", [(11, "low"), (12, "moderate"), (20, "moderate"), (21, "high")])
def test_volume_bands(sets, band):
    # Baz-Valle et al. 2022, PMC8884877: low < 12, moderate 12-20, high > 20 weekly sets.
    assert volume_band(sets) == band


@pytest.mark.parametrize("reps, band", [(35, "below"), (40, "inside"), (70, "inside"), (75, "above")])
def test_repetitions_of_contest_preparation(reps, band):
    # Helms et al. 2015, J Sports Med Phys Fitness 55:164: 40-70 per muscle group and session.
    assert prep_band(reps) == band


def test_half_a_set_lies_between_the_trials():
    # Growth of the elbow flexors from pulling against curling: rows 5.16 against 11.06 % (Mannarino et al.
    # 2021, JSCR 35:2677), pulldowns 6.10 against 5.83 % (Gentil et al. 2015, Asian J Sports Med 6:e24057).
    row, pulldown = 5.16 / 11.06, 6.10 / 5.83
    assert (row, pulldown) == pytest.approx((0.467, 1.046), abs=1e-3)
    assert row - 0.05 < ASSISTING_SHARE < pulldown
