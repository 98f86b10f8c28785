"""Passes, load time and pulses equal those of one CP-SAT model of order and schedule together."""

from __future__ import annotations

from random import Random

import pytest
from boards import CELL, COLUMN, GRID, OWN_WIRES, board
from reference.brute import Load, Setting, selectors_of
from reference.load_cpsat import best_load
from reference.schedule_machines import rewired
from solver_cases import frame, load_of, positions_of, random_setting, replayed
from strategies import Limits, loadable_glyph, partly, random_feed, random_grid, random_linkage
from test_solver_changes import changed_cells, tied_cells

from seqc.machine.effort import THOROUGH
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.schedule.clock import ScheduleClock
from seqc.solver.frames import plan_frame
from seqc.solver.objective import Objective
from seqc.solver.plan import GridPlan

SCARCE_UA = (2_600_000, 3_600_000, 3_600_000, 5_400_000, 8_000_000)
CASES_EACH = 10


def some_machine(random: Random) -> Machine:
    """Up to three by four cells, two to four kinds, a scarce supply or two, any drive."""
    limits = Limits(rows=3, columns=4, kinds=random.choice((2, 3, 3, 4)), lively=True)
    grid = random_grid(random, limits)
    feed, kinds = random_feed(random, grid, limits)
    names = ["swap", "pass"][: random.choice((0, 1, 1, 1, 1, 2))]
    gates = {"drop": random.choice((COLUMN, COLUMN, COLUMN, CELL))}
    gates |= {name: random_linkage(random, grid, limits) for name in names}
    dumps = random.choice((0, 0, 1))
    gates |= {"dump": random.choice((GRID, COLUMN))} if dumps else {}
    machine = board(
        [grid],
        kinds=kinds,
        feed=feed,
        gates=gates,
        dumps=dumps,
        kind=random.choice(OWN_WIRES),
        limit_ua=random.choice(SCARCE_UA),
        fall_us=random.choice((5_000, 60_000, 300_000)),
        pulse_switch=random.random() < 0.2,
    )
    return rewired(random, machine) if random.random() < 0.3 else machine


def some_case(seed: int) -> tuple[Load, Setting, Glyph | None]:
    """A load of at least two and at most eight groups, a start, and what is shown before."""
    random = Random(seed)
    while True:
        machine = some_machine(random)
        glyph = loadable_glyph(random, machine)
        shown = loadable_glyph(random, machine, "old") if random.random() < 0.3 else None
        lane = machine.lanes[0]
        groups = machine.actuators_of(lane.metering, lane.grid)
        if shown is not None:
            glyph = partly(random, machine, shown, glyph)
            tied = tied_cells(machine, changed_cells(shown, glyph, machine))
            groups = tuple(group for group in groups if group.cell_set & tied)
        if 2 <= len(groups) <= 8 and len(selectors_of(machine)) <= 10:
            return load_of(machine, glyph, groups), random_setting(random, machine), shown


def planned(load: Load, start: Setting, shown: Glyph | None, objective: Objective) -> GridPlan:
    plan = plan_frame(
        load.machine,
        frame(load.glyph),
        positions_of(load.machine, start),
        shown={} if shown is None else {shown.grid: shown},
        clock=ScheduleClock(load.machine),
        objective=objective,
        effort=THOROUGH,
    ).grids[0]
    replayed(plan, load)
    return plan


def is_decided(seed: int) -> bool:
    """Hold both objectives against the model; whether that decided both."""
    load, start, shown = some_case(seed)
    decided = True
    for objective in Objective:
        plan = planned(load, start, shown, objective)
        assert plan.load_us is not None
        best = best_load(
            load,
            start,
            within_us=plan.load_us,
            pulses_first=objective is Objective.PULSES,
        )
        if best is None:
            decided = False
            continue
        passes, load_us, pulses = best
        assert passes == len(plan.passes)
        if not plan.proven:
            # Some schedules of shared drives and scarce supplies stay open within their budget.
            assert (plan.load_bound_us or 0) <= load_us, seed
            continue
        assert (load_us, pulses) == (plan.load_us, plan.selector_pulses), seed
    return decided


@pytest.mark.quick(1, 6)
@pytest.mark.parametrize("first", range(0, 160, CASES_EACH))
def test_load_time_and_pulses_are_those_of_the_model(first: int) -> None:
    decided = [is_decided(seed) for seed in range(first, first + CASES_EACH)]
    assert any(decided)


@pytest.mark.thorough
@pytest.mark.parametrize("seed", [8220, 8305, 9142])
def test_loads_that_take_many_trials_or_a_long_search_are_proven(seed: int) -> None:
    is_decided(seed)
