"""Only what is tied to a changed cell is loaded and moved."""

from __future__ import annotations

from random import Random

import pytest
from boards import CELL, COLUMN, GRID, ROW, board, glyph, grid_of
from reference.brute import fewest_passes, fewest_pulses, selectors_of
from solver_cases import (
    frame,
    load_of,
    positions_of,
    random_setting,
    replayed,
    setting_of,
)
from strategies import Limits, loadable_glyph, partly, random_machine

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell
from seqc.solver.frames import plan_frame
from seqc.solver.positions import home


def tied_cells(machine: Machine, changed: set[Cell]) -> set[Cell]:
    """The cells that share a gate's actuator with one of these, and so on."""
    gates = [actuator for actuator in machine.actuators if actuator.is_gate]
    while True:
        grown = changed.union(*(gate.cells for gate in gates if changed & gate.cell_set))
        if grown == changed:
            return changed
        changed = grown


def changed_cells(old: Glyph, new: Glyph, machine: Machine) -> set[Cell]:
    cells = machine.lanes[0].grid.cells
    pairs = zip(cells, old.kinds, new.kinds, strict=True)
    return {cell for cell, before, after in pairs if before != after}


def test_columns_that_stay_are_neither_loaded_nor_moved() -> None:
    grid = grid_of(2, 3)
    machine = board([grid], gates={"drop": COLUMN, "swap": COLUMN})
    old, new = glyph(grid, "010", "010"), glyph(grid, "011", "010", name="y")
    (plan,) = plan_frame(machine, frame(new), home(len(machine.actuators)), shown={grid.name: old})
    assert [gate.name for step in plan.passes for gate in step.operate] == ["drop.c3"]
    assert [[gate.name for gate in stage] for stage in plan.transfers] == [["swap.c3"]]
    assert plan.pulses == 5
    assert set(plan.kept) == {cell for cell in grid.cells if cell.column != 3}


def test_gates_move_from_the_top_and_the_old_set_goes_first() -> None:
    grid = grid_of(2, 2)
    gates = {"drop": CELL, "hold": COLUMN, "swap": GRID, "dump": ROW}
    machine = board([grid], gates=gates, dumps=1)
    (plan,) = plan_frame(machine, frame(glyph(grid, "01", "10")), home(len(machine.actuators)))
    assert [[gate.name for gate in stage] for stage in plan.dumps] == [["dump.r1", "dump.r2"]]
    assert [[gate.name for gate in stage] for stage in plan.transfers] == [
        ["hold.c1", "hold.c2"],
        ["swap"],
    ]


def test_an_unchanged_frame_moves_nothing() -> None:
    grid = grid_of(2, 2)
    machine = board([grid])
    drawn = glyph(grid, "01", "10")
    start = home(len(machine.actuators))
    (plan,) = plan_frame(machine, frame(drawn), start, shown={grid.name: drawn})
    assert sum(map(len, (plan.passes, plan.dumps, plan.transfers))) == 0
    assert plan.proven
    assert plan.start == plan.end


@pytest.mark.parametrize("seed", range(80))
def test_unchanged_parts_are_left_out_and_the_rest_is_best(seed: int) -> None:
    random = Random(seed)
    while True:
        machine = random_machine(random, Limits(transfers=1, lively=True))
        if len(selectors_of(machine)) <= 7:
            break
    old, other = (loadable_glyph(random, machine) for _ in range(2))
    new = partly(random, machine, old, other)
    lane = machine.lanes[0]
    tied = tied_cells(machine, changed_cells(old, new, machine))
    groups = machine.actuators_of(lane.metering, lane.grid)
    load = load_of(machine, new, tuple(group for group in groups if group.cell_set & tied))
    start = random_setting(random, machine)
    (plan,) = plan_frame(
        machine, frame(new), positions_of(machine, start), shown={lane.grid.name: old}
    )
    assert replayed(plan, load) == setting_of(machine, plan.end)
    assert len(plan.passes) == fewest_passes(load)
    assert plan.selector_pulses == fewest_pulses(load, start, len(plan.passes))
    moved = {gate for stage in (*plan.dumps, *plan.transfers) for gate in stage}
    assert {gate.name for gate in moved} == {
        actuator.name
        for actuator in machine.actuators
        if actuator.is_gate and actuator.part != lane.metering and actuator.cell_set & tied
    }
