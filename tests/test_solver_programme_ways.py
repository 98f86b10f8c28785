"""Programmes of needs in very many ways: no bound is above what was found."""

from __future__ import annotations

from random import Random

import pytest
from open_boards import FEEDS, many_ways
from solver_cases import frame
from strategies import random_glyph

from seqc.schedule.clock import ScheduleClock
from seqc.solver.positions import home
from seqc.solver.programme import plan_programme


@pytest.mark.quick(1, 3)
@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("size", [4, 6])
def test_pulses_are_at_least_the_bound(feed: str, size: int) -> None:
    for seed in range(3):
        random = Random(seed)
        machine, _ = many_ways(random, feed, size, size)
        frames = [frame(random_glyph(random, machine)) for _ in range(3)]
        plan = plan_programme(machine, frames, home(len(machine.actuators)), repeat=True)
        assert plan.cost.pulses // 2 < plan.lower_bound.pulses <= plan.cost.pulses


@pytest.mark.thorough
@pytest.mark.parametrize("feed", FEEDS)
def test_loads_take_at_least_their_bound(feed: str) -> None:
    random = Random(3)
    machine, _ = many_ways(random, feed, 8, 8)
    frames = [frame(random_glyph(random, machine)) for _ in range(2)]
    clock = ScheduleClock(machine)
    plan = plan_programme(machine, frames, home(len(machine.actuators)), repeat=True, clock=clock)
    assert 0.8 * plan.cost.longest_us < plan.lower_bound.longest_us <= plan.cost.longest_us
    assert 0.5 * plan.cost.load_us < plan.lower_bound.load_us <= plan.cost.load_us
