"""Passes and pulses of middle-sized machines equal those that OR-Tools CP-SAT proves."""

from __future__ import annotations

from random import Random

import pytest
from boards import COLUMN, ROW, board, grid_of
from reference.brute import selectors_of
from reference.cp_sat import passes_and_pulses, shortest_open_way
from solver_cases import frame, load_of, positions_of, random_setting, replayed
from strategies import Limits, loadable_glyph, random_glyph, random_machine

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.solver.frames import plan_frame
from seqc.solver.needs import needs_of
from seqc.solver.positions import home

MIDDLE = Limits(rows=5, columns=7, lively=True)


@pytest.mark.quick(1)
@pytest.mark.parametrize("seed", range(0, 100, 10))
def test_middle_machines(seed: int) -> None:
    for number in range(seed, seed + 10):
        assert middle_case(Random(number)), number


@pytest.mark.parametrize("seed", [320, 344, 391, 447])
def test_a_rival_counts_only_with_the_moves_to_where_the_other_stands(seed: int) -> None:
    random = Random(seed)
    assert agrees(random, random_machine(random, Limits(rows=5, columns=6, lively=True)))


def middle_case(random: Random) -> bool:
    """Hold one plan against CP-SAT; whether the plan is proven."""
    while True:
        machine = random_machine(random, MIDDLE)
        if len(selectors_of(machine)) > 6:
            return agrees(random, machine)


def agrees(random: Random, machine: Machine) -> bool:
    """Hold the plan of a random glyph against CP-SAT; whether it is proven, if all ways count."""
    glyph = loadable_glyph(random, machine)
    load = load_of(machine, glyph)
    start = random_setting(random, machine)
    (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, start))
    replayed(plan, load)
    answer = passes_and_pulses(load, start)
    assert answer is not None
    passes, pulses = answer
    gates = plan.pulses - plan.selector_pulses
    assert plan.passes_bound <= passes <= len(plan.passes)
    assert plan.pulses_bound - gates <= pulses
    if plan.proven:
        assert (len(plan.passes), plan.selector_pulses) == (passes, pulses)
    every = needs_of(machine, glyph.grid).needs(glyph.kinds).values()
    return plan.proven or not all(need.whole for need in every)


@pytest.mark.parametrize("size", range(5, 17))
def test_full_columns(size: int) -> None:
    random = Random(size)
    grid = grid_of(size, size)
    machine = board([grid], selectors=(ROW,), gates={"drop": COLUMN})
    glyph = random_glyph(random, machine)
    (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)))
    assert plan.proven
    assert plan.selector_pulses == shortest_open_way(column_codes(glyph, size), 0)[0]


def column_codes(glyph: Glyph, size: int) -> list[int]:
    """The cells of each column that aren't slate, as bits."""
    return [
        sum((glyph.kinds[row * size + column] != "slate") << row for row in range(size))
        for column in range(size)
    ]
