"""Reachability, passes and pulses of random machines equal brute force."""

from __future__ import annotations

from random import Random

import pytest
from reference.brute import fewest_passes, fewest_pulses, selectors_of
from solver_cases import frame, load_of, positions_of, random_setting, replayed, setting_of
from strategies import Limits, loadable_glyph, random_glyph, random_machine
from unreachable import is_lost

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.solver.frames import plan_frame
from seqc.solver.needs import OutOfReachError
from seqc.solver.positions import home

SEEDS = range(100)
MOST_SELECTORS = 8
MOST_GROUPS = 8
MOST_PASSES = 6


def small_machine(
    random: Random, selectors: int = MOST_SELECTORS, *, mixed: bool = False
) -> Machine:
    """A machine that brute force can bear; two of three are such that many passes are needed."""
    limits = Limits(lively=random.random() < 0.67, mixed=mixed)
    while True:
        machine = random_machine(random, limits)
        lane = machine.lanes[0]
        groups = machine.actuators_of(lane.metering, lane.grid)
        if len(selectors_of(machine)) <= selectors and len(groups) <= MOST_GROUPS:
            return machine


def some_glyph(random: Random, machine: Machine) -> Glyph:
    return (random_glyph if random.random() < 0.3 else loadable_glyph)(random, machine)


@pytest.mark.quick(5)
@pytest.mark.parametrize("mixed", [False, True], ids=["alike", "mixed"])
@pytest.mark.parametrize("seed", SEEDS)
def test_passes_and_pulses_are_those_of_brute_force(seed: int, mixed: bool) -> None:
    random = Random(seed)
    for _ in range(4):
        machine = small_machine(random, mixed=mixed)
        glyph = some_glyph(random, machine)
        load = load_of(machine, glyph)
        passes = fewest_passes(load)
        assert is_lost(machine, glyph) == (passes is None)
        if passes is None:
            with pytest.raises(OutOfReachError):
                plan_frame(machine, frame(glyph), home(len(machine.actuators)))
            continue
        if passes > MOST_PASSES:
            continue
        start = random_setting(random, machine)
        (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, start))
        assert plan.proven
        assert len(plan.passes) == passes
        assert plan.selector_pulses == fewest_pulses(load, start, passes)
        assert replayed(plan, load) == setting_of(machine, plan.end)


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", SEEDS)
def test_unknown_positions_are_set_before_they_are_needed(seed: int) -> None:
    random = Random(1_000 + seed)
    machine = small_machine(random, 6)
    glyph = loadable_glyph(random, machine)
    load = load_of(machine, glyph)
    start = random_setting(random, machine, 0.5)
    (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, start))
    assert plan.proven
    assert len(plan.passes) == fewest_passes(load)
    assert plan.selector_pulses == fewest_pulses(load, start, len(plan.passes))
    replayed(plan, load)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_end_of_another_plan_can_be_met(seed: int) -> None:
    random = Random(2_000 + seed)
    machine = small_machine(random, 6)
    glyph = loadable_glyph(random, machine)
    load = load_of(machine, glyph)
    first, second = (random_setting(random, machine) for _ in range(2))
    (other,) = plan_frame(machine, frame(glyph), positions_of(machine, first))
    (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, second), end=other.end)
    assert plan.proven
    end = replayed(plan, load)
    assert end == setting_of(machine, other.end)
    assert plan.selector_pulses == fewest_pulses(load, second, len(plan.passes), end)
