"""The picture nearest to a glyph that is out of reach: the one with the fewest cells wrong.

Each metering group is loaded in a pass of its own if need be, so each can be given the positions
that serve the most of its cells, whatever those of the others are.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Cell
from seqc.solver.needs import LaneNeeds, needs_of
from seqc.solver.positions import Positions
from seqc.solver.reach.elimination import MOST_WIDTH, best_compromise
from seqc.solver.ways import NEVER


@dataclass(frozen=True)
class Nearest:
    """A picture within reach in place of a glyph: its kinds, in the order of the grid's cells.

    `wrong` are the cells that differ from the glyph; no picture within reach has fewer than
    `lower_bound` of them.
    """

    glyph: Glyph
    kinds: tuple[str, ...]
    wrong: tuple[Cell, ...]
    lower_bound: int

    @property
    def proven(self) -> bool:
        """Whether no picture within reach is nearer."""
        return len(self.wrong) == self.lower_bound


def nearest_picture(machine: Machine, glyph: Glyph, width: int = MOST_WIDTH) -> Nearest:
    """The picture within reach that differs from the glyph in the fewest cells.

    Exact unless the cells of one group hang together by more than `width` actuators; then the
    answer has a lower bound.
    """
    lane = needs_of(machine, glyph.grid)
    kinds = list(glyph.kinds)
    least = 0
    for group in lane.groups:
        wanted = [lane.offers[cell].get(glyph.kinds[cell], NEVER) for cell in group.cells]
        compromise = best_compromise(Counter(ways for ways in wanted if ways), width)
        least += compromise.lower_bound + wanted.count(NEVER)
        for cell in group.cells:
            kinds[cell] = _kind_at(lane, cell, compromise.positions)
    cells = lane.lane.grid.cells
    pairs = zip(cells, kinds, glyph.kinds, strict=True)
    wrong = tuple(cell for cell, seen, asked in pairs if seen != asked)
    return Nearest(glyph, tuple(kinds), wrong, least)


def _kind_at(lane: LaneNeeds, cell: int, positions: Positions) -> str:
    """What a cell is offered; an actuator of no account is taken to be at rest."""
    grid = lane.lane.grid
    feed = lane.lane.feeds[cell]
    while isinstance(feed, Branch):
        actuator = lane.machine.actuator_of(feed.selector, grid, grid.cells[cell])
        feed = feed.thrown if positions.thrown >> actuator.index & 1 else feed.rest
    return feed.name
