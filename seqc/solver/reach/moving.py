"""The fewest cells to move to other groups, with no actuator more, so that a font can be loaded.

A move gives one cell of one part to another actuator of the same part. Of the cells that contradict
each other one must move, in the part of the gate or of a selector in dispute: the search tries each
in turn, with ever more moves, so that the first answer is the smallest. Contradictions that have no
cell in common each take a move of their own, which bounds what is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Grid, Part
from seqc.machine.wiring import Actuator
from seqc.solver.needs import needs_of
from seqc.solver.reach.clashes import Clash, Links, Place
from seqc.solver.reach.contention import contention_of
from seqc.solver.reach.linking import Relinked, relinked

MOST_MOVES = 12
MOST_TRIALS = 1_500
CELLS_AT_COST = 32


@dataclass(frozen=True, slots=True)
class Move:
    """One cell to be moved by another actuator of the same part."""

    cell: Cell
    old: Actuator
    new: Actuator

    def __str__(self) -> str:
        return f"move {self.cell} from {self.old.name} to {self.new.name}"


@dataclass(frozen=True)
class Relinking:
    """Cells to move so that every glyph can be loaded, with the new groups of their parts.

    No re-linking moves fewer than `least` cells. Where none was found there are no moves, and
    `impossible` says whether there is none at all.
    """

    grid: Grid
    moves: tuple[Move, ...]
    links: tuple[Relinked, ...]
    least: int
    impossible: bool = False

    @property
    def proven(self) -> bool:
        """Whether the question is settled: no fewer moves do, or none at all."""
        return self.impossible or len(self.moves) == self.least


@dataclass(frozen=True, slots=True)
class _Node:
    """Cells that have been moved, and cells of a part that are to stay where they are."""

    moved: Mapping[Place, int]
    kept: frozenset[Place]


def fewest_moves(
    machine: Machine, grid: str, glyphs: Iterable[Glyph], trials: int = MOST_TRIALS
) -> Relinking:
    """The fewest cells to move so that all these glyphs of one grid can be loaded.

    Glyphs with kinds that their lane doesn't offer are left out.
    """
    search = _Search(Links(contention_of(needs_of(machine, grid), glyphs)), trials)
    least = search.at_least(_Node({}, frozenset()))
    while least <= MOST_MOVES:
        moved = search.within(least)
        if moved is not None:
            return _relinking(search.links, moved, least)
        if search.trials <= 0:
            break
        if not search.cut_short:
            return Relinking(search.links.grid, (), (), least, impossible=True)
        least += 1
    return Relinking(search.links.grid, (), (), least)


@dataclass
class _Search:
    """A search by ever more moves; `cut_short` says whether more moves could have helped."""

    links: Links
    trials: int
    cut_short: bool = False

    @property
    def cost(self) -> int:
        """What a trial costs: more where kinds come by several routes."""
        loose = self.links.contention.loose.bit_count()
        return 1 + loose * len(self.links.grid.cells) // CELLS_AT_COST

    def at_least(self, node: _Node) -> int:
        """So many moves there must be below a node: one for each of some clashes that are apart."""
        return len(node.moved) + len(self.links.clashes(node.moved))

    def within(self, most: int) -> Mapping[Place, int] | None:
        """Moves that leave no clash, or None if so many aren't enough or the trials are used up."""
        self.cut_short = False
        waiting = [_Node({}, frozenset())]
        while waiting and self.trials > 0:
            self.trials -= self.cost
            node = waiting.pop()
            clashes = self.links.clashes(node.moved)
            if not clashes:
                return node.moved
            if len(node.moved) + len(clashes) > most:
                self.cut_short = True
                continue
            waiting += reversed(list(self._children(node, clashes)))
        return None

    def _children(self, node: _Node, clashes: list[Clash]) -> Iterator[_Node]:
        """Every way to move a cell of the clash that leaves the fewest."""
        free = [
            [place for place in clash.places if place not in node.moved and place not in node.kept]
            for clash in clashes
        ]
        kept = node.kept
        for place in min(free, key=len):
            for actuator in self.links.others(place):
                yield _Node({**node.moved, place: actuator}, kept)
            kept |= {place}


def _relinking(links: Links, moved: Mapping[Place, int], least: int) -> Relinking:
    actuators = links.contention.lane.machine.actuators
    cells = links.grid.cells
    moves = tuple(
        Move(cells[cell], actuators[links.labels[part][cell]], actuators[moved[part, cell]])
        for part, cell in sorted(moved)
    )
    changed = sorted({part for part, _ in moved})
    return Relinking(links.grid, moves, tuple(_link(links, moved, part) for part in changed), least)


def _link(links: Links, moved: Mapping[Place, int], number: int) -> Relinked:
    part: Part = links.parts[number]
    labels = [moved.get((number, cell), old) for cell, old in enumerate(links.labels[number])]
    return relinked(part, links.grid, dict(zip(links.grid.cells, labels, strict=True)))
