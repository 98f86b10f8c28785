"""Which gates a frame must move: those tied, cell by cell and gate by gate, to a cell that changes.

A gate that moves lets the items of all its cells through, so every cell that shares an actuator
with a changed one must be loaded too; cells under gates that don't move keep their items.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Gate, Lane
from seqc.machine.wiring import Actuator

Stages = tuple[tuple[Actuator, ...], ...]


@dataclass(frozen=True, eq=False)
class Ties:
    """The cells of a grid in sets that no gate moves apart."""

    machine: Machine
    lane: Lane

    @cached_property
    def set_of(self) -> tuple[int, ...]:
        """For each cell the number of its set: that of the set's first cell."""
        grid = self.lane.grid
        found = list(range(len(grid.cells)))
        for gate in self.lane.gates:
            for actuator in self.machine.actuators_of(gate, grid):
                cells = [grid.index_of[cell] for cell in actuator.cells]
                for cell in cells[1:]:
                    first, second = sorted((_root(found, cells[0]), _root(found, cell)))
                    found[second] = first
        return tuple(_root(found, cell) for cell in range(len(found)))

    @cached_property
    def every(self) -> frozenset[int]:
        """All sets."""
        return frozenset(self.set_of)

    @cached_property
    def _stages(self) -> dict[tuple[tuple[str, ...], frozenset[int]], Stages]:
        return {}

    def changed(self, glyph: Glyph, shown: Glyph | None) -> frozenset[int]:
        """The sets that must move so that the glyph takes the place of the one that is shown."""
        if shown is None:
            return self.every
        pairs = zip(self.set_of, glyph.kinds, shown.kinds, strict=True)
        return frozenset(tied for tied, new, old in pairs if new != old)

    def kept(self, sets: frozenset[int]) -> tuple[Cell, ...]:
        """The cells that are in none of these sets."""
        if sets == self.every:
            return ()
        pairs = zip(self.lane.grid.cells, self.set_of, strict=True)
        return tuple(cell for cell, tied in pairs if tied not in sets)

    def stages(self, gates: tuple[Gate, ...], sets: frozenset[int]) -> Stages:
        """The actuators that move, gate by gate from the top, without gates at rest."""
        key = (tuple(gate.name for gate in gates), sets)
        if key not in self._stages:
            moved = (self._moved(gate, sets) for gate in gates)
            self._stages[key] = tuple(stage for stage in moved if stage)
        return self._stages[key]

    def _moved(self, gate: Gate, sets: frozenset[int]) -> tuple[Actuator, ...]:
        grid = self.lane.grid
        return tuple(
            actuator
            for actuator in self.machine.actuators_of(gate, grid)
            if self.set_of[grid.index_of[actuator.cells[0]]] in sets
        )


def _root(found: list[int], cell: int) -> int:
    while found[cell] != cell:
        found[cell] = found[found[cell]]
        cell = found[cell]
    return cell
