"""The lanes of one grid by numbers: which actuator moves which part of which cell.

Places count from the top: place k lies above gate k of the lane, and place `shown` is the one that
is seen; place 0 would be the selectors' outlet, which holds nothing of its own. An item that leaves
gate k goes to place k + 1, or out when there is none.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Gate, Lane, Part, Position
from seqc.machine.wiring import Actuator
from seqc.simulator.lines import Harness
from seqc.simulator.pieces import Pieces, Time

UNKNOWN = "?"
"""The kind of an item that no known position of the selectors accounts for."""


NO_TIME = Time(lambda: 0)


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


@dataclass(frozen=True, slots=True)
class Move:
    """How long an actuator takes to be settled, and what its pulse's start may be off by."""

    travel: Time
    settle: Time
    start_early_us: int
    start_late_us: int

    @classmethod
    def of(cls, actuator: Actuator, harness: Harness, pieces: Pieces) -> Move:
        """That of an actuator of a machine."""
        start = harness.switching[actuator.index].closing
        travel, settle = pieces.time(actuator.coil.travel), pieces.time(actuator.part.settle)
        return cls(travel, settle, start.early_us, start.late_us)

    def draw(self) -> int:
        """From the start of a pulse until the part is settled, this time."""
        return self.travel.draw() + self.settle.draw()

    @property
    def settled_early_us(self) -> int:
        """How much sooner than it seems it may be settled."""
        return self.start_early_us + self.travel.early_us + self.settle.early_us

    @property
    def settled_late_us(self) -> int:
        """How much later than it seems it may be settled."""
        return self.start_late_us + self.travel.late_us + self.settle.late_us


class Lanes:
    """The lanes of one grid."""

    def __init__(self, machine: Machine, lane: Lane, harness: Harness, pieces: Pieces) -> None:
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
        self.gate_at = [
            [self._moving[gate.name, cell] for cell in lane.grid.cells] for gate in lane.gates
        ]
        self.ties = [self._tie(actuator) for actuator in self.actuators]
        self.moves = [Move.of(actuator, harness, pieces) for actuator in self.actuators]
        cells = range(len(lane.grid.cells))
        self.falls = [[pieces.time(path.fall) for _ in cells] for path in lane.paths]
        self.settles = [[pieces.time(path.settle) for _ in cells] for path in lane.paths]

    @cached_property
    def memory_us(self) -> int:
        """How long after it was over a thing may still have been too late."""
        early = max((move.start_early_us for move in self.moves), default=0)
        early = max(early, *(self.arrival(place).early_us for place in range(1, self.shown + 1)))
        late = max((move.settled_late_us for move in self.moves), default=0)
        late = max(late, *(self.still_late_us(place) for place in range(1, self.shown + 1)))
        return early + late

    def fall(self, level: int, cell: int) -> Time:
        """From a gate settled thrown to the arrival of its item; below `shown` at once."""
        return self.falls[level][cell] if level < self.shown else NO_TIME

    def settle(self, place: int, cell: int) -> Time:
        """From an item's arrival at a place until it lies still."""
        return self.settles[place - 1][cell] if place <= self.shown else NO_TIME

    def arrival(self, place: int) -> Time:
        """What an arrival at a place may be off by: its gate above and its fall."""
        number = self.gate_at[place - 1][0]
        fall = self.fall(place - 1, 0)
        move = self.moves[number]
        return Time(
            fall.draw, move.settled_early_us + fall.early_us, move.settled_late_us + fall.late_us
        )

    def still_late_us(self, place: int) -> int:
        """How much later than it seems an item at a place may lie still."""
        return self.arrival(place).late_us + self.settle(place, 0).late_us

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
        feed = self.lane.feeds[index]
        while isinstance(feed, Branch):
            position = positions[self._moving[feed.selector.name, self.grid.cells[index]]]
            if position is None:
                return UNKNOWN
            feed = feed.rest if position is Position.REST else feed.thrown
        return feed.name

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
        """The actuators that move a part in these cells, as far as it stands in them."""
        places = ((part.name, self.grid.cells[index]) for index in cells)
        return tuple(dict.fromkeys(self._moving[at] for at in places if at in self._moving))
