"""Glyphs out of reach: the smallest proof, its words, and a repair that helps."""

from __future__ import annotations

import itertools
from random import Random

import pytest
from boards import CELL, COLUMN, GRID, board, glyph, grid_of
from reference.brute import contradicting, selectors_of
from solver_cases import load_of
from strategies import random_glyph, random_machine

from seqc.machine.findings import Place
from seqc.machine.glyphs import Frame
from seqc.machine.parts import Cell, Linkage, LinkageKind
from seqc.solver.frames import plan_frame
from seqc.solver.positions import home
from seqc.solver.reach.conflicts import Unreachable, find_conflicts

HERE = Place("board.lanes", 7, 15, 10)
THERE = Place("board.lanes", 8, 15, 10)


def test_a_pair_of_cells_and_both_linkages_are_named() -> None:
    grid = grid_of(3, 2)
    machine = board(
        [grid],
        selectors=(Linkage(LinkageKind.COLUMN, place=HERE),),
        gates={"drop": Linkage(LinkageKind.COLUMN, place=THERE)},
    )
    (conflict,) = find_conflicts(machine, glyph(grid, "00", "01", "00", name="7"))
    assert conflict.cells == (Cell(1, 2), Cell(2, 2))
    assert conflict.kinds == ("slate", "chalk")
    assert conflict.metering.name == "drop.c2"
    assert [selector.name for selector in conflict.selectors] == ["pick1.c2"]
    assert [related.place for related in conflict.finding.related] == [THERE, HERE]
    assert conflict.finding.code == "out-of-reach"
    assert conflict.message == (
        "glyph '7' is out of reach: slate in row 1 column 2 and chalk in row 2 column 2 are loaded "
        "together by drop.c2 and need opposite positions of pick1.c2"
    )


def test_only_selectors_that_are_disputed_are_named() -> None:
    grid = grid_of(1, 2)
    machine = board([grid], kinds=3, selectors=(GRID, GRID), gates={"drop": GRID})
    # Chalk is pick1 thrown and pick2 at rest, amber both thrown: pick1 is as both want it.
    (conflict,) = find_conflicts(machine, glyph(grid, "12"))
    assert [selector.name for selector in conflict.selectors] == ["pick2"]


def test_the_cheapest_split_is_offered() -> None:
    grid = grid_of(6, 2)
    machine = board([grid], selectors=(COLUMN,), gates={"drop": COLUMN})
    (conflict,) = find_conflicts(machine, glyph(grid, "00", "00", "00", "01", "01", "01"))
    assert conflict.finding.hint == "split drop.c2 into {r1..r3} and {r4..r6}"


def test_of_equal_repairs_the_wider_linkage_is_split() -> None:
    grid = grid_of(3, 2)
    machine = board([grid], selectors=(GRID,), gates={"drop": COLUMN})
    (conflict,) = find_conflicts(machine, glyph(grid, "00", "01", "01"))
    assert conflict.finding.hint == "split pick1 into {r1} and {r2..r3}, or make pick1 per row"


def test_a_frame_reports_the_conflicts_of_all_its_grids() -> None:
    grids = [grid_of(2, 2, name="hours"), grid_of(2, 2, name="minutes")]
    machine = board(grids, selectors=(COLUMN,), gates={"drop": COLUMN})
    frame = Frame(tuple(glyph(grid, "01", "10") for grid in grids))
    with pytest.raises(Unreachable) as caught:
        plan_frame(machine, frame, home(len(machine.actuators)))
    assert [conflict.metering.name for conflict in caught.value.conflicts] == [
        "hours.drop.c1",
        "hours.drop.c2",
        "minutes.drop.c1",
        "minutes.drop.c2",
    ]


def test_a_kind_that_the_lane_lacks_is_a_conflict_of_one_cell() -> None:
    grid = grid_of(2, 1)
    machine = board([grid])
    (conflict,) = find_conflicts(machine, glyph(grid, "0", "2"))
    assert conflict.cells == (Cell(2, 1),)
    assert "amber in row 2 column 1, which its lane doesn't offer" in conflict.message
    assert conflict.repair == ()


def test_gates_by_cell_reach_everything() -> None:
    grid = grid_of(2, 2)
    machine = board([grid], selectors=(GRID,), gates={"drop": CELL})
    assert find_conflicts(machine, glyph(grid, "01", "10")) == ()


@pytest.mark.parametrize("seed", range(60))
def test_the_proof_is_smallest_and_the_repair_parts_its_cells(seed: int) -> None:
    random = Random(seed)
    while True:
        machine = random_machine(random)
        drawn = random_glyph(random, machine)
        if len(selectors_of(machine)) <= 8 and find_conflicts(machine, drawn):
            break
    load = load_of(machine, drawn)
    for conflict in find_conflicts(machine, drawn):
        assert set(conflict.cells) <= conflict.metering.cell_set
        assert contradicting(load, conflict.cells)
        for size in range(1, len(conflict.cells)):
            for fewer in itertools.combinations(conflict.metering.cells, size):
                assert not contradicting(load, fewer)
        for split in conflict.repair:
            joined = [cell for part in split.parts for cell in part]
            assert sorted(joined) == sorted(split.actuator.cells)
            if split.actuator == conflict.metering:
                assert not any(contradicting(load, part) for part in split.parts)
