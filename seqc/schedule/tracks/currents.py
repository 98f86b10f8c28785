"""What tables draw from the supplies, in cells of time, and where one fits beside others."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby, zip_longest
from typing import NamedTuple

from seqc.schedule.pulses import Pulse
from seqc.schedule.topology import Topology

CELL_US = 1_000
"""Cells are so long where distances in tables are multiples of nothing longer."""


class Stretch(NamedTuple):
    """From one cell to before another so much is drawn."""

    first: int
    end: int
    ua: int


Currents = Mapping[str, Sequence[Stretch]]
"""The most that is drawn when, by the name of the supply."""


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
            _add(cells, Stretch(first, end, pulse.actuator.peak_ua))
        return {supply: _stretches(cells) for supply, cells in found.items()}


def most(several: Iterable[Currents]) -> Currents:
    """The most that any of some tables draws."""
    found: dict[str, list[int]] = {}
    for currents in several:
        for supply, stretches in currents.items():
            cells: list[int] = []
            for stretch in stretches:
                _add(cells, stretch)
            both = zip_longest(found.get(supply, ()), cells, fillvalue=0)
            found[supply] = [max(pair) for pair in both]
    return {supply: _stretches(cells) for supply, cells in found.items()}


def _add(cells: list[int], stretch: Stretch, later: int = 0) -> None:
    """What is drawn in a stretch, added to what is drawn already."""
    first, end = stretch.first + later, stretch.end + later
    cells += [0] * (end - len(cells))
    cells[first:end] = [ua + stretch.ua for ua in cells[first:end]]


def _stretches(cells: Sequence[int]) -> list[Stretch]:
    """Cells in a row that draw the same, those without current left out."""
    found, at = [], 0
    for ua, alike in groupby(cells):
        end = at + len(list(alike))
        found += [Stretch(at, end, ua)] if ua else []
        at = end
    return found


@dataclass
class Together:
    """What is drawn by tables that run at one time, cell by cell."""

    capacities_ua: Mapping[str, int]
    drawn: dict[str, list[int]] = field(default_factory=dict)

    def copy(self) -> Together:
        """The same, to be gone on with by itself."""
        return Together(self.capacities_ua, {name: [*ua] for name, ua in self.drawn.items()})

    def place(self, own: Currents, cell: int) -> None:
        """One table more, from a cell on."""
        for supply, stretches in own.items():
            drawn = self.drawn.setdefault(supply, [])
            for stretch in stretches:
                _add(drawn, stretch, cell)

    def earliest(self, own: Currents, cell: int) -> int:
        """The first cell from a given one on from which a table fits."""
        while (later := self._after_clash(own, cell)) is not None:
            cell = later
        return cell

    def _after_clash(self, own: Currents, cell: int) -> int | None:
        """Where to try next, None where it fits: the first clash is over there."""
        for supply, stretches in own.items():
            drawn, most_ua = self.drawn.get(supply, []), self.capacities_ua[supply]
            for first, end, ua in stretches:
                beside = drawn[cell + first : cell + end]
                if beside and ua + max(beside) > most_ua:
                    clashing = [n for n, other in enumerate(beside) if ua + other > most_ua]
                    return cell + 1 + clashing[-1]
        return None
