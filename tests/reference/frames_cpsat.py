"""A lower bound of the frames that reveal every fault, by CP-SAT; for two kinds and one selector.

Necessary conditions alone: each cell shows a word that reveals its lane's own faults, which is
tried word by word on a machine of one cell; and metering gates above the same selectors, whose
coils may be exchanged, aren't alike in every frame, since gates that are cycled together in all
frames are never told from each other.
"""

from __future__ import annotations

from itertools import product

from boards import CELL, GRID, board, grid_of
from broken_machines import seen_of
from ortools.sat.python import cp_model

from seqc.faults import Fault, FaultKind, faults_of, plain_tables
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine

MOST_FRAMES = 6
OF_THE_LANE = {
    FaultKind.STUCK,
    FaultKind.LANE_BLOCKED,
    FaultKind.LANE_SLOW,
    FaultKind.TWO_AT_ONCE,
    FaultKind.MAGAZINES_EXCHANGED,
}

Word = tuple[int, ...]


def least_revealing(machine: Machine) -> int:
    """The fewest frames that may reveal every fault of a machine of two kinds."""
    gates = {gate.name: CELL for gate in machine.lanes[0].gates}
    small = board(
        [grid_of(1, 1)], selectors=(GRID,), gates=gates, dumps=len(machine.lanes[0].dumps)
    )
    for count in range(1, MOST_FRAMES + 1):
        words = _revealing_words(small, count)
        if words and _can_be_given(machine, words):
            return count
    raise AssertionError("no number of frames is enough")


def _revealing_words(small: Machine, count: int) -> list[Word]:
    """The words that reveal all that any longer word reveals."""
    faults = [fault for fault in faults_of(small) if fault.kind in OF_THE_LANE]
    by_word = {
        word: {n for n, fault in enumerate(faults) if _reveals(small, fault, word)}
        for word in product((0, 1), repeat=max(count, 3))
    }
    most = set().union(*by_word.values())
    return [
        word
        for word in product((0, 1), repeat=count)
        if {n for n, fault in enumerate(faults) if _reveals(small, fault, word)} == most
    ]


def _reveals(small: Machine, fault: Fault, word: Word) -> bool:
    """Whether a word shows a fault, whichever item was there before."""
    grid = small.lanes[0].grid
    kinds = [small.items[number].name for number in word]
    frames = [Frame((Glyph(kind, "", grid.name, (kind,)),)) for kind in kinds]
    tables = plain_tables(small, frames)
    return all(
        [seen[grid.name][0] for seen in seen_of(small, tables, [fault], {grid.name: (before,)})]
        != kinds
        for before in (*(item.name for item in small.items), None)
    )


def _can_be_given(machine: Machine, words: list[Word]) -> bool:
    """Whether words can be given to all places so that exchanged gates are told."""
    model = cp_model.CpModel()
    lane, count = machine.lanes[0], len(words[0])
    shows: dict[tuple[int, int], list[cp_model.IntVar]] = {}
    selectors_of: dict[int, dict[int, tuple[int, int]]] = {}
    for cell in lane.grid.cells:
        gate = machine.actuator_of(lane.metering, lane.grid, cell).index
        selector = machine.actuator_of(lane.selectors[0], lane.grid, cell).index
        place = gate, selector
        selectors_of.setdefault(gate, {})[selector] = place
        if place not in shows:
            shows[place] = [model.new_bool_var("") for _ in range(count)]
            model.add_allowed_assignments(shows[place], words)
    for fault in faults_of(machine):
        pair = fault.actuators
        if fault.kind is not FaultKind.COILS_EXCHANGED or not set(pair) <= set(selectors_of):
            continue
        mine, theirs = (selectors_of[index] for index in pair)
        if set(mine) == set(theirs):
            differs = []
            for selector in mine:
                for one, other in zip(shows[mine[selector]], shows[theirs[selector]], strict=True):
                    differ = model.new_bool_var("")
                    model.add(one != other).only_enforce_if(differ)
                    differs.append(differ)
            model.add_bool_or(differs)
    return cp_model.CpSolver().solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
