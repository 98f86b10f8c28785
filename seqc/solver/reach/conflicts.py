"""Why a glyph is out of reach: cells that one gate loads together and that need opposite positions.

A metering group is operated once a load, since each of its cells takes exactly one item. Where the
needs of its cells contradict each other the glyph can't be shown. The proof is a smallest set of
cells that contradict: a pair, or more where kinds come by several routes.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from seqc.machine.findings import Finding, Related, Severity
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell
from seqc.machine.wiring import Actuator
from seqc.solver.needs import LaneNeeds, LoadGroup, joined, needs_of
from seqc.solver.positions import Positions, bits
from seqc.solver.reach.splits import Split, cheapest_split
from seqc.solver.ways import Ways


@dataclass(frozen=True)
class Conflict:
    """Cells that contradict each other under one metering actuator.

    `selectors` are the actuators on which they need opposite positions; none where a cell is to
    show a kind that its lane doesn't offer. `repair` is the cheapest change to the linkages that
    lets this group load this glyph.
    """

    glyph: Glyph
    cells: tuple[Cell, ...]
    kinds: tuple[str, ...]
    metering: Actuator
    selectors: tuple[Actuator, ...]
    repair: tuple[Split, ...]

    @property
    def message(self) -> str:
        """What contradicts what, in words."""
        wants = " and ".join(
            f"{kind} in {cell}" for kind, cell in zip(self.kinds, self.cells, strict=True)
        )
        if not self.selectors:
            return f"glyph {self.glyph.name!r} needs {wants}, which its lane doesn't offer"
        names = ", ".join(selector.name for selector in self.selectors)
        return (
            f"glyph {self.glyph.name!r} is out of reach: {wants} are loaded together by "
            f"{self.metering.name} and need opposite positions of {names}"
        )

    @property
    def finding(self) -> Finding:
        """The conflict as a finding at the glyph, with the places of all linkages in it."""
        parts = {part.name: part for part in (a.part for a in (self.metering, *self.selectors))}
        related = tuple(
            Related(part.linkage.place, f"{part.name} moves {part.linkage}")
            for part in parts.values()
        )
        hint = " and ".join(map(str, self.repair))
        return Finding(
            Severity.ERROR, "out-of-reach", self.message, self.glyph.place, hint, related
        )


class Unreachable(Exception):  # noqa: N818
    """A frame that can't be shown; carries the conflicts of all its grids."""

    def __init__(self, frame: Frame, conflicts: tuple[Conflict, ...]) -> None:
        super().__init__("\n".join(conflict.message for conflict in conflicts))
        self.frame = frame
        self.conflicts = conflicts


def find_conflicts(machine: Machine, glyph: Glyph) -> tuple[Conflict, ...]:
    """One conflict for each metering group whose needs contradict; none if it can be shown."""
    lane = needs_of(machine, glyph.grid)
    needs = lane.needs(glyph.kinds)
    return tuple(
        _conflict(lane, group, glyph)
        for group in lane.groups
        if not needs[group.actuator.index].possible
    )


def _conflict(lane: LaneNeeds, group: LoadGroup, glyph: Glyph) -> Conflict:
    wanted = {cell: lane.offers[cell].get(glyph.kinds[cell], ()) for cell in group.cells}
    cells = witness(wanted)
    actuators = lane.machine.actuators
    grid_cells = lane.lane.grid.cells
    return Conflict(
        glyph,
        tuple(grid_cells[cell] for cell in cells),
        tuple(glyph.kinds[cell] for cell in cells),
        group.actuator,
        tuple(actuators[index] for index in bits(_disputed([wanted[cell] for cell in cells]))),
        cheapest_split(lane, group, wanted),
    )


def witness(wanted: dict[int, Ways]) -> tuple[int, ...]:
    """The smallest set of cells whose ways contradict; of several, the first in order of cells."""
    first_cells: dict[Ways, int] = {}
    for cell, ways in wanted.items():
        first_cells.setdefault(ways, cell)
    for size in range(1, len(first_cells) + 1):
        for some in itertools.combinations(first_cells, size):
            if not joined(Positions(), some).possible:
                return tuple(first_cells[ways] for ways in some)
    raise AssertionError("the needs of the cells don't contradict")


def _disputed(needs: Sequence[Ways]) -> int:
    """The actuators that some of the needs want at rest and others thrown."""
    thrown = rest = 0
    for ways in needs:
        for way in ways:
            thrown |= way.thrown
            rest |= way.known & ~way.thrown
    return thrown & rest
