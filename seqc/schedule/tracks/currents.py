"""What tables draw from the supplies, in cells of time, and where one fits beside others."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest

from seqc.schedule.pulses import Pulse
from seqc.schedule.topology import Topology

CELL_US = 1_000
"""Cells are so long where distances in tables are multiples of nothing longer."""

Currents = Mapping[str, Sequence[int]]
"""The most that is drawn in each cell, by the name of the supply."""


@dataclass(frozen=True)
class Cells:
    """The cells in which currents are counted, and the most that each supply gives.

    A pulse counts in every cell that it touches, from its earliest start to its latest end.
    """

    length_us: int
    capacities_ua: Mapping[str, int]

    @classmethod
    def of(cls, topology: Topology) -> Cells:
        """Those of a machine; relays are fed beside what the coils may draw."""
        names = [supply.name for supply in topology.machine.supplies]
        capacities = dict(zip(names, topology.capacities_ua, strict=True))
        return cls(max(topology.grid_us, CELL_US), capacities)

    def drawn(self, pulses: Iterable[Pulse]) -> Currents:
        """What pulses draw."""
        found: dict[str, list[int]] = {}
        for pulse in pulses:
            cells = found.setdefault(pulse.actuator.drive.supply.name, [])
            first, end = pulse.start_us // self.length_us, -(-pulse.end_us // self.length_us)
            cells += [0] * (end - len(cells))
            for cell in range(first, end):
                cells[cell] += pulse.actuator.peak_ua
        return found


def most(several: Iterable[Currents]) -> Currents:
    """The most that any of some tables draws."""
    found: dict[str, list[int]] = {}
    for currents in several:
        for supply, cells in currents.items():
            both = zip_longest(found.get(supply, ()), cells, fillvalue=0)
            found[supply] = [max(pair) for pair in both]
    return found


@dataclass
class Together:
    """What is drawn by tables that run at one time."""

    capacities_ua: Mapping[str, int]
    drawn: dict[str, list[int]] = field(default_factory=dict)

    def place(self, own: Currents, cell: int) -> None:
        """One table more, from a cell on."""
        for supply, cells in own.items():
            drawn = self.drawn.setdefault(supply, [])
            drawn += [0] * (cell + len(cells) - len(drawn))
            for at, ua in enumerate(cells, cell):
                drawn[at] += ua

    def earliest(self, own: Currents, cell: int) -> int:
        """The first cell from a given one on from which a table fits."""
        while (later := self._after_clash(own, cell)) is not None:
            cell = later
        return cell

    def _after_clash(self, own: Currents, cell: int) -> int | None:
        """Where to try next, None where it fits: the first clash is over there."""
        for supply, cells in own.items():
            drawn, most_ua = self.drawn.get(supply, []), self.capacities_ua[supply]
            for at, (ua, taken) in enumerate(zip(cells, drawn[cell:], strict=False), cell):
                if ua and ua + taken > most_ua:
                    free = at + 1
                    while free < len(drawn) and ua + drawn[free] > most_ua:
                        free += 1
                    return cell + free - at
        return None
