"""The lanes of one grid by numbers: which actuator moves which part of which cell.

Places count from the top: place k lies above gate k of the lane, and place `shown` is the one that
is seen; place 0 would be the selectors' outlet, which holds nothing of its own. An item that leaves
gate k goes to place k + 1, or out when there is none.
"""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Gate, Lane, Part, Position
from seqc.machine.wiring import Actuator

UNKNOWN = "?"
"""The kind of an item that no known position of the selectors accounts for."""


@dataclass(frozen=True, slots=True)
class Tie:
    """What one actuator of the grid moves and what it must mind; numbers are within the grid.

    `level` is the number of its gate in the lane, or None for a selector. `cells` are indices into
    the grid's cells. `selectors` stand above a metering gate; `metering` and `others` are the gates
    in the lanes of a selector.
    """

    actuator: Actuator
    level: int | None
    cells: tuple[int, ...]
    selectors: tuple[int, ...] = ()
    metering: tuple[int, ...] = ()
    others: tuple[int, ...] = ()

    @property
    def name(self) -> str:
        """The actuator's name."""
        return self.actuator.name


class Lanes:
    """The lanes of one grid."""

    def __init__(self, machine: Machine, lane: Lane) -> None:
        self.lane = lane
        self.grid = lane.grid
        self.actuators = tuple(a for a in machine.actuators if a.grid.name == lane.grid.name)
        self.number_of = {a.index: number for number, a in enumerate(self.actuators)}
        self.shown = lane.gates_above
        self.last = max(self.shown, len(lane.gates) - 1)
        self._moving = {
            (a.part.name, cell): number
            for number, a in enumerate(self.actuators)
            for cell in a.cells
        }
        self.selector_at = {part.name: self._across(part) for part in lane.selectors}
        self.gate_at = [self._across(gate) for gate in lane.gates]
        self.ties = [self._tie(actuator) for actuator in self.actuators]

    def fall_us(self, level: int) -> int:
        """From a gate settled thrown to the arrival of its items; below `shown` at once."""
        return self.lane.paths[level].fall_us if level < self.shown else 0

    def settle_us(self, place: int) -> int:
        """From an item's arrival at a place until it lies still."""
        return self.lane.paths[place - 1].settle_us if place <= self.shown else 0

    def pushes_out(self, place: int) -> bool:
        """Whether an item that arrives there pushes the old one out."""
        return place == len(self.lane.gates)

    def place_name(self, place: int) -> str:
        """A place in words."""
        if place == self.shown:
            return "the place that is seen"
        return f"the place above {self.lane.gates[place].name}"

    def cell_name(self, index: int) -> str:
        """A cell in words."""
        return f"{self.grid.cells[index]} of {self.grid.name}"

    def offered(self, index: int, positions: list[Position | None]) -> str:
        """The kind that the selectors offer in a cell, or `UNKNOWN`."""
        feed = self.lane.feed
        while isinstance(feed, Branch):
            position = positions[self.selector_at[feed.selector.name][index]]
            if position is None:
                return UNKNOWN
            feed = feed.rest if position is Position.REST else feed.thrown
        return feed.name

    def _across(self, part: Part) -> list[int]:
        return [self._moving[part.name, cell] for cell in self.grid.cells]

    def _tie(self, actuator: Actuator) -> Tie:
        cells = tuple(self.grid.index_of[cell] for cell in actuator.cells)
        gates = self.lane.gates
        if not isinstance(actuator.part, Gate):
            metering, *others = (self._meeting(gate, cells) for gate in gates)
            return Tie(
                actuator, None, cells, metering=metering, others=tuple(n for o in others for n in o)
            )
        level = [gate.name for gate in gates].index(actuator.part.name)
        above = () if level else self.lane.selectors
        selectors = {n: None for part in above for n in self._meeting(part, cells)}
        return Tie(actuator, level, cells, selectors=tuple(selectors))

    def _meeting(self, part: Part, cells: tuple[int, ...]) -> tuple[int, ...]:
        across = self._across(part)
        return tuple(dict.fromkeys(across[index] for index in cells))
