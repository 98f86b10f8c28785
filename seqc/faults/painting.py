"""Pictures within reach in which each cell shows a word: one kind after the other.

Cells of a metering group are loaded at once, so where they share a selector it must stand alike for
all of them; each cell gets the first word of its wish that goes with those given before.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from seqc.faults.words import Word
from seqc.machine.lane_graph import routes_through
from seqc.machine.model import Machine
from seqc.machine.parts import Lane, Position, selectors_of

Wish = Callable[[int, int], int]
"""The number of the word that a cell is to have, by the rank of its metering actuator and that of
its selectors; numbers go round."""

Standing = dict[int, Position]
"""Where selector actuators stand, by index."""


class Painted(NamedTuple):
    """Pictures, and for each metering group how its selectors stand in each of them."""

    pictures: list[tuple[str, ...]]
    standing: list[list[Standing]]


class Painter:
    """Paints the lanes of one grid."""

    def __init__(self, machine: Machine, lane: Lane) -> None:
        self.lane = lane
        cells = lane.grid.cells
        self.routes = [routes_through(feed) for feed in lane.feeds]
        metering = machine.actuators_of(lane.metering, lane.grid)
        self.metering = {actuator.index: rank for rank, actuator in enumerate(metering)}
        self.groups = [
            [lane.grid.index_of[cell] for cell in actuator.cells] for actuator in metering
        ]
        self._moving = [
            {
                part.name: machine.actuator_of(part, lane.grid, cell).index
                for part in selectors_of(feed)
            }
            for cell, feed in zip(cells, lane.feeds, strict=True)
        ]
        self.selectors = sorted({index for moving in self._moving for index in moving.values()})
        self.actuators = {*self.metering, *self.selectors}
        places = [tuple(moving.values()) for moving in self._moving]
        ranks = {place: rank for rank, place in enumerate(dict.fromkeys(places))}
        self.ranks = [ranks[place] for place in places]
        self.places = len(ranks)

    def painted(self, words: Sequence[Word], wish: Wish) -> Painted:
        """One picture for each kind of the words, which are equally long."""
        size = len(words[0])
        kinds = [[""] * len(self.ranks) for _ in range(size)]
        standings = []
        for rank, group in enumerate(self.groups):
            standing: list[Standing] = [{} for _ in range(size)]
            standings.append(standing)
            for cell in group:
                first = wish(rank, self.ranks[cell])
                order = [words[(first + k) % len(words)] for k in range(len(words))]
                for number, kind in enumerate(self._placed(cell, order, standing)):
                    kinds[number][cell] = kind
        return Painted([tuple(row) for row in kinds], standings)

    def _placed(self, cell: int, order: Sequence[Word], standing: list[Standing]) -> Word:
        """The first word that goes, its selectors set; else as much of the first as does."""
        for word in order:
            found = [
                self._fitting(cell, kind, fixed) for kind, fixed in zip(word, standing, strict=True)
            ]
            if None not in found:
                for fixed, route in zip(standing, found, strict=True):
                    fixed.update(route or {})
                return word
        return tuple(
            self._forced(cell, kind, fixed) for kind, fixed in zip(order[0], standing, strict=True)
        )

    def _fitting(self, cell: int, kind: str, fixed: Standing) -> Standing | None:
        """How the selectors of a cell are to stand for a kind, given those that stand already."""
        for route in self.routes[cell].get(kind, ()):
            wanted = {self._moving[cell][part.name]: position for part, position in route}
            if all(fixed.get(index, position) is position for index, position in wanted.items()):
                return wanted
        return None

    def _forced(self, cell: int, kind: str, fixed: Standing) -> str:
        """The kind wished for, if it can be, else any that can."""
        for each in (kind, *self.routes[cell]):
            wanted = self._fitting(cell, each, fixed)
            if wanted is not None:
                fixed.update(wanted)
                return each
        raise AssertionError("some route goes with any position of the selectors")
