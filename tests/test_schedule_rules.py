"""Every rule of time holds on random machines, with every drive, alone and in a programme."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from reference.schedule_machines import mixed_machine, random_machine, random_plans
from reference.schedule_planner import left_to_right
from reference.schedule_rules import broken_rules

from seqc.machine.effort import NORMAL
from seqc.schedule.frame import time_frame
from seqc.schedule.pulses import Pulse, supply_profile
from seqc.schedule.tables import glyph_tables, programme_tables
from seqc.schedule.timing import ProgrammeTiming, time_programme
from seqc.simulator.simulator import Simulator
from seqc.solver.plan import ProgrammePlan
from seqc.solver.positions import UNKNOWN

EFFORT = 50
BRIEF = replace(NORMAL, schedule_nodes=EFFORT)


def on_one_line(timing: ProgrammeTiming) -> list[Pulse]:
    """The pulses of all ticks from the start of the first change."""
    return [
        pulse.later(number * timing.beat_us)
        for number, tick in enumerate(timing.ticks)
        for pulse in tick.pulses
    ]


@pytest.mark.parametrize("seed", range(80))
def test_rules_hold_for_each_frame_by_itself(seed: int) -> None:
    random = Random(seed)
    machine = mixed_machine(random) if seed % 2 else random_machine(random, size=4)
    for plan in random_plans(random, machine, 2):
        timing = time_frame(machine, plan, EFFORT)
        assert len(timing.pulses) == plan.pulses
        assert broken_rules(machine, timing.pulses) == []


@pytest.mark.quick(5, 25)
@pytest.mark.parametrize("seed", range(80))
def test_rules_hold_from_tick_to_tick(seed: int) -> None:
    random = Random(seed)
    grids = random.choice([1, 1, 2])
    machine = mixed_machine(random) if seed % 2 else random_machine(random, grids=grids)
    plans = random_plans(random, machine, 4)
    if not plans:
        return
    every_us = random.choice([1_000, 500_000, 2_000_000])
    timing = time_programme(machine, ProgrammePlan(tuple(plans)), every_us, BRIEF)
    load = time_frame(machine, plans[0], EFFORT)
    first = [pulse.later(-load.change_at_us) for pulse in load.pulses]
    loading = [pulse for pulse in first if pulse.start_us < 0]
    assert broken_rules(machine, [*loading, *on_one_line(timing)]) == []


def test_the_checker_sees_breaches() -> None:
    random = Random(3)
    machine = random_machine(random, size=4)
    (plan,) = random_plans(random, machine, 1)
    pulses = list(time_frame(machine, plan).pulses)
    for number, pulse in enumerate(pulses):
        if pulse.start_us:
            early = [*pulses[:number], pulse.later(-pulse.start_us), *pulses[number + 1 :]]
            assert broken_rules(machine, early), pulse


@pytest.mark.quick(4, 20)
@pytest.mark.parametrize("seed", range(60))
def test_tables_run_in_the_simulator_and_show_each_frame(seed: int) -> None:
    random = Random(1_000 + seed)
    grids = random.choice([1, 1, 2])
    machine = mixed_machine(random) if seed % 2 else random_machine(random, grids=grids)
    plans = random_plans(random, machine, 3)
    if not plans:
        return
    again = left_to_right(machine, list(plans[0].frame.glyphs), plans[-1].grids[-1].end)
    closed = again.grids[-1].end == plans[0].grids[-1].end
    plan = ProgrammePlan(tuple(plans), again if closed else None)
    timing = time_programme(machine, plan, random.choice([1_000, 700_000]), BRIEF)
    tables = programme_tables(machine, timing)
    simulator = Simulator(machine)
    order = list(tables)
    if tables.repeat_from is not None:
        order += 2 * list(tables.tables[tables.repeat_from :])
    for table in order:
        seen = simulator.run(table)
        assert seen.faults == ()
        wanted = {
            glyph.grid: glyph.kinds
            for frame in plans
            for glyph in frame.frame
            if (glyph.grid, glyph.name) in table.shows
        }
        assert {grid: seen.pictures[grid] for grid in wanted} == wanted


@pytest.mark.quick(2)
@pytest.mark.parametrize("seed", range(30))
def test_glyph_tables_run_from_any_position(seed: int) -> None:
    random = Random(2_000 + seed)
    machine = random_machine(random)
    frames = [plan.frame for plan in random_plans(random, machine, 3)]
    plans = [left_to_right(machine, list(frame.glyphs), UNKNOWN) for frame in frames]
    tables = glyph_tables(machine, plans)
    simulator = Simulator(machine)
    simulator.run(tables.home)
    for table, frame in [*zip(tables.tables, frames, strict=True)] * 2:
        seen = simulator.run(table)
        assert seen.faults == ()
        assert seen.pictures == {glyph.grid: glyph.kinds for glyph in frame}


@pytest.mark.parametrize("seed", range(40))
def test_supplies_are_never_overdrawn(seed: int) -> None:
    random = Random(seed)
    machine = random_machine(random, size=4, grids=2)
    for plan in random_plans(random, machine, 1):
        profile = supply_profile(time_frame(machine, plan, EFFORT).pulses)
        usable = {supply.name: supply.usable_ua for supply in machine.supplies}
        for name, steps in profile.items():
            assert steps[-1][1] == 0
            assert max(current for _, current in steps) <= usable[name]
