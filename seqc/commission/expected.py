"""What a sound machine does with what was played: its parts and its pictures, as far as known."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.steptable import StepTable, TableSet
from seqc.simulator import Simulator
from seqc.simulator.simulator import Picture

UNKNOWN = "?"


class Motion(NamedTuple):
    """From a time on, in milliseconds after the start of a table, a part is in a state."""

    at_ms: int
    actuator: str
    state: str


class Expected:
    """A sound machine that plays along. Before home nothing is known of it, nor after a stop."""

    def __init__(self, machine: Machine, before: TableSet) -> None:
        self.machine, self._before = machine, before
        self.motions: tuple[Motion, ...] = ()
        self._simulator = self._unknown()
        self.is_home = self.is_clear = False

    def lose(self) -> None:
        """Nothing is known any more, but what is seen until something else is."""
        self.is_home = self.is_clear = False
        self.motions = ()
        kept = self._simulator.pictures
        self._simulator = self._unknown()
        self._simulator.put(kept)

    def see(self, grid: str, picture: Picture) -> None:
        """Take what was seen of a grid for what is there, where nothing is known."""
        known = self._simulator.pictures[grid]
        pairs = zip(known, picture, strict=True)
        there = (is_seen if was == UNKNOWN else was for was, is_seen in pairs)
        self._simulator.put({grid: tuple(there)}, Position.REST if self.is_home else None)

    def home(self) -> None:
        """Every part comes to rest; what was left waiting goes when the first table is played."""
        self._run(self._before.home)
        self.is_home = True
        self.is_clear = self._before.clear is None

    def begin(self, table: StepTable) -> None:
        """A table starts, after the clear table if that hasn't been played since home."""
        offset_ms = 0
        motions: list[Motion] = []
        if not self.is_clear and self._before.clear:
            motions += self._run(self._before.clear)
            offset_ms = self._before.clear.length_us // 1000
            self.is_clear = True
        motions += (one._replace(at_ms=one.at_ms + offset_ms) for one in self._run(table))
        self.motions = tuple(motions)

    @property
    def pictures(self) -> Mapping[str, Picture]:
        """What is seen once all is at rest; UNKNOWN where nothing tells."""
        return self._simulator.pictures

    def positions(self) -> dict[str, str]:
        """Where each part is known to be when nothing plays."""
        word = Position.REST.value if self.is_home else UNKNOWN
        return {actuator.name: word for actuator in self.machine.actuators}

    def _run(self, table: StepTable) -> list[Motion]:
        start = self._simulator.now_us
        events = self._simulator.run(table).events
        return [
            Motion((event.at_us - start) // 1000, event.name, event.state)
            for event in events
            if event.what == "position"
        ]

    def _unknown(self) -> Simulator:
        simulator = Simulator(self.machine, stock=False, log=True)
        simulator.put({g.name: (UNKNOWN,) * len(g.cells) for g in self.machine.grids})
        return simulator
