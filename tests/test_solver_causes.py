"""Why glyphs are out of reach: the smallest proof, its words, and a repair that is the same to all.

Which groups of cells contradict is held against brute force.
"""

from __future__ import annotations

import itertools
from random import Random

import pytest
from boards import CELL, COLUMN, GRID, board, glyph, grid_of
from reference.brute import contradicting, selectors_of
from solver_cases import load_of
from strategies import random_glyph, random_machine
from unreachable import is_lost, why_lost

import seqc
from seqc.machine.findings import Place, ShortfallError
from seqc.machine.glyphs import Frame, Glyph, Programme
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Linkage, LinkageKind
from seqc.solver.reach.causes import Cause
from seqc.solver.reach.remedy import remedy_of

HERE = Place("board.lanes", 7, 15, 10)
THERE = Place("board.lanes", 8, 15, 10)


def cause_of(machine: Machine, drawn: Glyph) -> Cause:
    """The only cause that keeps a glyph out of reach."""
    (cause,) = why_lost(machine, (drawn,)).causes
    return cause


def hint_of(machine: Machine, drawn: Glyph) -> str:
    return remedy_of(machine, drawn.grid, (drawn,)).hint


def test_a_pair_of_cells_and_both_linkages_are_named() -> None:
    grid = grid_of(3, 2)
    machine = board(
        [grid],
        selectors=(Linkage(LinkageKind.COLUMN, place=HERE),),
        gates={"drop": Linkage(LinkageKind.COLUMN, place=THERE)},
    )
    cause = cause_of(machine, glyph(grid, "00", "01", "00", name="7"))
    assert cause.proof.cells == (Cell(1, 2), Cell(2, 2))
    assert cause.proof.kinds == ("slate", "chalk")
    assert cause.proof.conflict.metering.name == "drop.c2"
    assert [selector.name for selector in cause.proof.conflict.selectors] == ["pick1.c2"]
    finding = cause.finding()
    assert (finding.place, finding.related[0].place) == (THERE, HERE)
    assert finding.code == "out-of-reach"
    assert finding.message == (
        "glyph '7' is out of reach: drop (per column) and pick1 (per column) move cells together; "
        "glyph '7' wants slate in row 1 column 2 and chalk in row 2 column 2, which drop.c2 loads "
        "together and which need opposite positions of pick1.c2"
    )


def test_only_selectors_that_are_disputed_are_named() -> None:
    grid = grid_of(1, 2)
    machine = board([grid], kinds=3, selectors=(GRID, GRID), gates={"drop": GRID})
    # Chalk is pick1 thrown and pick2 at rest, amber both thrown: pick1 is as both want it.
    cause = cause_of(machine, glyph(grid, "12"))
    assert [selector.name for selector in cause.proof.conflict.selectors] == ["pick2"]


def test_the_cheapest_split_is_offered() -> None:
    grid = grid_of(6, 2)
    machine = board([grid], selectors=(COLUMN,), gates={"drop": COLUMN})
    hint = hint_of(machine, glyph(grid, "00", "00", "00", "01", "01", "01"))
    assert hint.startswith("split pick1.c2 into {r1..r3} and {r4..r6}; or move ")


def test_the_one_selector_is_split_rather_than_every_gate() -> None:
    grid = grid_of(3, 2)
    machine = board([grid], selectors=(GRID,), gates={"drop": COLUMN})
    hint = hint_of(machine, glyph(grid, "00", "11", "11"))
    assert hint.startswith("split pick1 into {r1} and {r2..r3}, or make pick1 per row; or move ")


def test_a_plan_refuses_with_the_causes_of_all_grids() -> None:
    grids = [grid_of(2, 2, name="hours"), grid_of(2, 2, name="minutes")]
    machine = board(grids, selectors=(COLUMN,), gates={"drop": COLUMN})
    frame = Frame(tuple(glyph(grid, "01", "10") for grid in grids))
    with pytest.raises(ShortfallError) as caught:
        seqc.plan(machine, Programme("both", (frame,), 1_000_000))
    messages = [finding.message for finding in caught.value.findings]
    assert ["hours.drop.c1" in message for message in messages] == [True, False]
    assert ["minutes.drop.c1" in message for message in messages] == [False, True]


def test_a_kind_that_the_lane_lacks_is_no_contradiction() -> None:
    grid = grid_of(2, 1)
    reach = why_lost(board([grid]), (glyph(grid, "0", "2"),))
    assert not reach.causes
    (lack,) = reach.lacking
    assert "no amber is offered in row 2 column 1 of numeral" in lack.finding.message


def test_gates_by_cell_reach_everything() -> None:
    grid = grid_of(2, 2)
    machine = board([grid], selectors=(GRID,), gates={"drop": CELL})
    assert not is_lost(machine, glyph(grid, "01", "10"))


@pytest.mark.parametrize("seed", range(60))
def test_the_proof_is_smallest_and_names_every_gate_that_contradicts(seed: int) -> None:
    random = Random(seed)
    while True:
        machine = random_machine(random)
        drawn = random_glyph(random, machine)
        if len(selectors_of(machine)) <= 8 and is_lost(machine, drawn):
            break
    reach = why_lost(machine, (drawn,))
    load = load_of(machine, drawn)
    conflicts = [conflict for cause in reach.causes for conflict in cause.conflicts]
    lane = machine.lane_of(drawn.grid)
    for actuator in machine.actuators_of(lane.metering, lane.grid):
        named = any(conflict.metering is actuator for conflict in conflicts)
        assert named == contradicting(load, actuator.cells)
    for cause in reach.causes:
        proof = cause.proof
        assert set(proof.cells) <= proof.conflict.metering.cell_set
        assert contradicting(load, proof.cells)
        for size in range(1, len(proof.cells)):
            for fewer in itertools.combinations(proof.cells, size):
                assert not contradicting(load, fewer)
