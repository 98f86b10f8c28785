"""The bound of the load time that doesn't ask for the ways of needs is true, and near."""

from __future__ import annotations

from random import Random

import pytest
from open_boards import FEEDS, many_ways
from solver_cases import frame, load_of, replayed
from test_solver_load_cpsat import planned, some_case

from seqc.schedule.clock import ScheduleClock
from seqc.solver.frames import plan_frame
from seqc.solver.needs import needs_of
from seqc.solver.objective import Objective
from seqc.solver.positions import home
from seqc.solver.timed_load import TimedLoad

SEEDS = range(0, 160, 6)


def test_no_load_takes_less_than_the_bound() -> None:
    """The plans are proven by the search that looks at every way."""
    near = 0
    for seed in SEEDS:
        load, start, shown = some_case(seed)
        plan = planned(load, start, shown, Objective.LOAD_TIME)
        assert plan.proven, seed
        assert plan.load_us is not None
        lane = needs_of(load.machine, load.glyph.grid)
        bound_us = TimedLoad(lane, plan, ScheduleClock(load.machine)).least_us
        assert bound_us <= plan.load_us, seed
        near += bound_us > plan.load_us * 3 // 4
    assert near > len(SEEDS) // 2


@pytest.mark.parametrize("feed", FEEDS)
def test_loads_of_very_many_ways_are_proven_or_close_to_it(feed: str) -> None:
    machine, glyph = many_ways(Random(8), feed, 8, 8)
    (plan,) = plan_frame(
        machine, frame(glyph), home(len(machine.actuators)), clock=ScheduleClock(machine)
    )
    replayed(plan, load_of(machine, glyph))
    assert plan.load_us is not None
    assert plan.least_load_us is not None
    assert plan.proven or (feed == "one kind twice" and plan.least_load_us > 0.98 * plan.load_us)
