"""The bound of the load time that doesn't ask for the ways of needs is true, and near."""

from __future__ import annotations

from test_solver_load_cpsat import planned, some_case

from seqc.schedule.clock import ScheduleClock
from seqc.solver.frames import load_bound_us
from seqc.solver.needs import needs_of
from seqc.solver.objective import Objective

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
        bound_us = load_bound_us(lane, plan, ScheduleClock(load.machine))
        assert bound_us <= plan.load_us, seed
        near += bound_us > plan.load_us // 2
    assert near > len(SEEDS) // 2
