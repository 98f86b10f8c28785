"""Loads timed from kept beginnings take what they take scheduled from nothing."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from reference.schedule_machines import random_machine, random_plans

from seqc.machine.effort import Work
from seqc.machine.glyphs import Frame
from seqc.schedule.clock import ScheduleClock
from seqc.schedule.frame import change_alone, load_alone
from seqc.schedule.topology import Topology
from seqc.solver.plan import FramePlan


@pytest.mark.thorough
@pytest.mark.parametrize("kept", [1, 2, 256])
def test_a_kept_beginning_changes_no_load_time(kept: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("seqc.schedule.prefix_cache.MOST_KEPT", kept)
    proven = longer = 0
    for seed in range(40):
        random = Random(seed)
        machine = random_machine(random)
        clock, topology = ScheduleClock(machine), Topology(machine)
        for plan, *_ in random_plans(random, machine, 4):
            for count in range(1, len(plan.passes) + 1):
                clock.throw_us(replace(plan, passes=plan.passes[:count]), Work(1_000))
            alone = FramePlan(Frame((plan.glyph,)), (plan,))
            lane = topology.lane_of_grid(plan.glyph.grid)
            fresh = (load_alone if lane.transfers else change_alone)(topology, alone)
            load_us, least_us = clock.load_us(plan)
            assert least_us <= fresh.reached_us
            assert fresh.bound_us <= load_us
            if fresh.proven and load_us == least_us:
                assert load_us == fresh.reached_us, seed
                proven += 1
            longer += len(plan.passes) > 2
    assert proven > 50
    assert longer > 20
