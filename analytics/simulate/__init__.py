"""Simulate: invented rosters with known truth, for the demo, for tests and as evidence of the method."""

from analytics.simulate.demo import write_demo
from analytics.simulate.roster import simulate_roster
from analytics.simulate.world import LAST_DAY, Simulated, World

__all__ = ["LAST_DAY", "Simulated", "World", "simulate_roster", "write_demo"]
