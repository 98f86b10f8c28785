"""The fewest cells to move to other groups, with no actuator more, so that a font can be loaded.

A move gives one cell of one part to another actuator of the same part. Of two cells that contradict
each other one must move, in the gate or in the selector in dispute: the search tries each in turn,
with ever more moves, so that the first answer is the smallest (iterative deepening). Pairs that
have no cell in common each take a move of their own, which bounds what is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Grid
from seqc.machine.wiring import Actuator
from seqc.solver.needs import needs_of
from seqc.solver.positions import bits
from seqc.solver.reach.contradictions import contradictions
from seqc.solver.reach.font_needs import NO_ACTUATOR, FontNeeds, font_needs
from seqc.solver.reach.new_linkage import NewLinkage, linked_anew

MOST_MOVES = 12
MOST_TRIALS = 1_500
MOST_LOOKED_AT = 8

Place = tuple[int, int]
"""The number of a part and a cell."""

Pair = tuple[tuple[int, int], int]
"""Two cells that one gate loads and one selector actuator moves, and the number of the selector."""


@dataclass(frozen=True, slots=True)
class Move:
    """One cell to be moved by another actuator of the same part."""

    cell: Cell
    old: Actuator
    new: Actuator

    def __str__(self) -> str:
        return f"move {self.cell} from {self.old.name} to {self.new.name}"


@dataclass(frozen=True)
class Regrouping:
    """Cells to move so that every glyph can be loaded, with the new groups of their parts.

    No regrouping moves fewer than `lower_bound` cells. Where none was found there are no moves, and
    `impossible` says whether there is none at all.
    """

    grid: Grid
    moves: tuple[Move, ...]
    links: tuple[NewLinkage, ...]
    lower_bound: int
    impossible: bool = False

    @property
    def proven(self) -> bool:
        """Whether the question is settled: no fewer moves do, or none at all."""
        return self.impossible or len(self.moves) == self.lower_bound


def fewest_moves(
    machine: Machine, grid: str, glyphs: Iterable[Glyph], trials: int = MOST_TRIALS
) -> Regrouping:
    """The fewest cells to move so that all these glyphs of one grid can be loaded.

    Glyphs with kinds that their lane doesn't offer are left out. Where kinds come by several routes
    each is given the first of them, and one move is all that is known to be needed.
    """
    lane = needs_of(machine, grid)
    needs = font_needs(lane, glyphs)
    if not needs.by_routes:
        return _Search(needs, trials).fewest()
    if not contradictions(needs):
        return Regrouping(lane.lane.grid, (), (), 0)
    found = _Search(font_needs(lane, needs.glyphs, one_route=True), trials).fewest()
    return Regrouping(found.grid, found.moves, found.links, lower_bound=1)


@dataclass(frozen=True, slots=True)
class _Node:
    """Cells that have been moved, and cells of a part that are to stay where they are."""

    moved: Mapping[Place, int]
    kept: frozenset[Place]


@dataclass
class _Search:
    """A search by ever more moves; `cut_short` says whether more moves could have helped."""

    needs: FontNeeds
    trials: int
    cut_short: bool = False

    def fewest(self) -> Regrouping:
        """The fewest moves, or a lower bound of them."""
        grid = self.needs.lane.lane.grid
        least = len(self.pairs({}))
        while least <= MOST_MOVES:
            moved = self.within(least)
            if moved is not None:
                return self._regrouping(moved)
            if self.trials <= 0:
                break
            if not self.cut_short:
                return Regrouping(grid, (), (), least, impossible=True)
            least += 1
        return Regrouping(grid, (), (), least)

    def within(self, most: int) -> Mapping[Place, int] | None:
        """Moves that leave no pair, or None if so many aren't enough or the trials are used up."""
        self.cut_short = False
        waiting = [_Node({}, frozenset())]
        while waiting and self.trials > 0:
            self.trials -= 1
            node = waiting.pop()
            pairs = self.pairs(node.moved)
            if not pairs:
                return node.moved
            if len(node.moved) + len(pairs) > most:
                self.cut_short = True
                continue
            waiting += reversed(list(self._children(node, pairs)))
        return None

    def _children(self, node: _Node, pairs: Sequence[Pair]) -> Iterator[_Node]:
        """Every way to move a cell of the pair that leaves the fewest."""
        gate = len(self.needs.parts) - 1
        free = [
            [
                place
                for cell in cells
                for place in ((part, cell), (gate, cell))
                if place not in node.moved and place not in node.kept
            ]
            for cells, part in pairs
        ]
        kept = node.kept
        for place in min(free, key=len):
            for actuator in self._others(place):
                yield _Node({**node.moved, place: actuator}, kept)
            kept |= {place}

    def _others(self, place: Place) -> list[int]:
        """The actuators of the part that don't move the cell."""
        part, cell = place
        own = self._actuators[part]
        return [other for other in sorted(set(own)) if other not in (own[cell], NO_ACTUATOR)]

    @cached_property
    def _actuators(self) -> tuple[tuple[int, ...], ...]:
        """For each part, the gate last, the actuator of each cell."""
        return tuple(zip(*self.needs.moved_by, strict=True))

    @cached_property
    def _sides(self) -> tuple[tuple[tuple[int, int], ...], ...]:
        """For each selector and cell the glyphs that need it at rest there, and thrown."""
        return tuple(
            tuple(
                (rest.get(actuator, 0), thrown.get(actuator, 0))
                for actuator, (rest, thrown) in zip(own, self.needs.needs, strict=True)
            )
            for own in self._actuators[:-1]
        )

    def pairs(self, moved: Mapping[Place, int]) -> list[Pair]:
        """Pairs without a common cell, after some cells have been moved; none if all is well."""
        actuators = [list(own) for own in self._actuators]
        for (part, cell), actuator in moved.items():
            actuators[part][cell] = actuator
        taken: set[int] = set()
        found = []
        for part, own in enumerate(actuators[:-1]):
            together: dict[tuple[int, int], list[int]] = {}
            for cell, key in enumerate(zip(actuators[-1], own, strict=True)):
                together.setdefault(key, []).append(cell)
            for cells in together.values():
                for pair in self._torn(cells, part):
                    if taken.isdisjoint(pair):
                        taken.update(pair)
                        found.append((pair, part))
        return found

    def _torn(self, cells: Sequence[int], part: int) -> Iterator[tuple[int, int]]:
        """Cells that one selector actuator moves, in pairs that need it in opposite positions."""
        sides = self._sides[part]
        rest = thrown = 0
        for cell in cells:
            rest |= sides[cell][0]
            thrown |= sides[cell][1]
        for number in islice(bits(rest & thrown), MOST_LOOKED_AT):
            yield from zip(
                (cell for cell in cells if sides[cell][0] >> number & 1),
                (cell for cell in cells if sides[cell][1] >> number & 1),
                strict=False,
            )

    def _regrouping(self, moved: Mapping[Place, int]) -> Regrouping:
        actuators, grid = self.needs.lane.machine.actuators, self.needs.lane.lane.grid
        moves = tuple(
            Move(grid.cells[cell], actuators[self._actuators[part][cell]], actuators[new])
            for (part, cell), new in sorted(moved.items())
        )
        links = []
        for number in sorted({part for part, _ in moved}):
            old = self._actuators[number]
            at = {
                grid.cells[cell]: moved.get((number, cell), actuator)
                for cell, actuator in enumerate(old)
                if actuator != NO_ACTUATOR
            }
            links.append(linked_anew(self.needs.parts[number], grid, at))
        return Regrouping(grid, moves, tuple(links), len(moves))
