"""Speed of role inference, side by side with the simple rule in the same run; by hand with `-m bench`."""

from time import process_time

import pytest

from analytics.evidence.role_check import simple_rule, unlabelled
from analytics.intake.table.roles import assign_roles
from analytics.simulate import World, simulate_roster


@pytest.mark.bench
def test_inferring_roles_costs_a_few_times_the_simple_rule(capsys: pytest.CaptureFixture[str]) -> None:
    sets = unlabelled(simulate_roster(World(), 300, 52, 3).sets)
    seconds = {}
    for name, rule in (("inferred", assign_roles), ("simple", simple_rule)):
        rule(sets)
        before = process_time()
        rule(sets)
        seconds[name] = process_time() - before
    with capsys.disabled():
        rate = sets.height / seconds["inferred"] / 1e6
        print(f"\nroles: {sets.height} sets, {rate:.1f} M a CPU second, {seconds} s")
    assert seconds["inferred"] < 12 * seconds["simple"]
