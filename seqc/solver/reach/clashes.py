"""Which cells contradict each other under linkages that are not those of the machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from seqc.machine.parts import Grid, Part
from seqc.solver.positions import Positions, bits
from seqc.solver.reach.agreement import can_all_hold, contradiction
from seqc.solver.reach.contention import Contention
from seqc.solver.ways import Ways

MOST_LOOKED_AT = 8
MOST_SETS = 100

Place = tuple[int, int]
"""The number of a part and a cell."""


@dataclass(frozen=True, slots=True)
class Clash:
    """Cells that can't be loaded together; to move any of its places may help, nothing else."""

    cells: tuple[int, ...]
    places: tuple[Place, ...]


@dataclass(frozen=True, eq=False)
class Links:
    """The parts of a lane, selectors first, then the gate, and the actuator of each cell."""

    contention: Contention

    @property
    def grid(self) -> Grid:
        """The grid of the lane."""
        return self.contention.lane.lane.grid

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """The parts that decide what is loaded where."""
        lane = self.contention.lane.lane
        return (*lane.selectors, lane.metering)

    @cached_property
    def labels(self) -> tuple[tuple[int, ...], ...]:
        """For each part the actuator of each cell."""
        actuator_of = self.contention.lane.machine.actuator_of
        return tuple(
            tuple(actuator_of(part, self.grid, cell).index for cell in self.grid.cells)
            for part in self.parts
        )

    def others(self, place: Place) -> list[int]:
        """The actuators of the part that don't move the cell."""
        part, cell = place
        return [a for a in sorted(set(self.labels[part])) if a != self.labels[part][cell]]

    def clashes(self, moved: Mapping[Place, int]) -> list[Clash]:
        """Clashes without a common cell, after some cells have been moved; none if all is well."""
        labels = [list(own) for own in self.labels]
        for (part, cell), actuator in moved.items():
            labels[part][cell] = actuator
        groups: dict[int, list[int]] = {}
        for cell, gate in enumerate(labels[-1]):
            groups.setdefault(gate, []).append(cell)
        return _apart(clash for cells in groups.values() for clash in self._in_group(cells, labels))

    def _in_group(self, cells: Sequence[int], labels: Sequence[Sequence[int]]) -> Iterator[Clash]:
        """Clashes of a group: as many pairs as a few glyphs show; else what routes bar."""
        barred = 0
        for part in range(len(self.parts) - 1):
            together: dict[int, list[int]] = {}
            for cell in cells:
                together.setdefault(labels[part][cell], []).append(cell)
            for some in together.values():
                glyphs = self._torn(some, part)
                barred |= glyphs
                for number in islice(bits(glyphs), MOST_LOOKED_AT):
                    yield from self._pairs(some, part, number)
        for number in bits(self.contention.loose & ~barred):
            yield from self._by_routes(cells, labels, number)

    @cached_property
    def _sides(self) -> tuple[tuple[tuple[int, int], ...], ...]:
        """For each part and cell the glyphs that need the part at rest there, and thrown."""
        needs = self.contention.needs
        return tuple(
            tuple(
                (rest.get(actuator, 0), thrown.get(actuator, 0))
                for actuator, (rest, thrown) in zip(own, needs, strict=True)
            )
            for own in self.labels[:-1]
        )

    def _torn(self, cells: Iterable[int], part: int) -> int:
        """The glyphs that need a part in both positions among some cells."""
        rest = thrown = 0
        for cell in cells:
            rest |= self._sides[part][cell][0]
            thrown |= self._sides[part][cell][1]
        return rest & thrown

    def _pairs(self, cells: Sequence[int], part: int, number: int) -> Iterator[Clash]:
        sides = self._sides[part]
        rest = [cell for cell in cells if sides[cell][0] >> number & 1]
        thrown = [cell for cell in cells if sides[cell][1] >> number & 1]
        for pair in zip(rest, thrown, strict=False):
            numbers = (part, len(self.parts) - 1)
            yield Clash(pair, tuple((n, cell) for cell in pair for n in numbers))

    def _by_routes(
        self, cells: Sequence[int], labels: Sequence[Sequence[int]], number: int
    ) -> Iterator[Clash]:
        wanted = {cell: self._ways(cell, labels, number) for cell in cells}
        if not can_all_hold(wanted.values()):
            some = contradiction(wanted, MOST_SETS)
            places = [(part, cell) for cell in some for part in range(len(self.parts))]
            yield Clash(some, tuple(places))

    def _ways(self, cell: int, labels: Sequence[Sequence[int]], number: int) -> Ways:
        """The ways of a cell in one glyph, in terms of the actuators that move it now."""
        now = {own[cell]: labels[part][cell] for part, own in enumerate(self.labels)}
        kind = self.contention.glyphs[number].kinds[cell]
        return tuple(
            Positions(_moved(way.known, now), _moved(way.thrown, now))
            for way in self.contention.lane.offers[cell][kind]
        )


def _moved(mask: int, now: Mapping[int, int]) -> int:
    return sum(1 << now[actuator] for actuator in bits(mask))


def _apart(clashes: Iterable[Clash]) -> list[Clash]:
    """Of clashes in order those that share no cell with one before."""
    taken: set[int] = set()
    kept = []
    for clash in clashes:
        if taken.isdisjoint(clash.cells):
            taken.update(clash.cells)
            kept.append(clash)
    return kept
