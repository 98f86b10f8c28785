"""One section: what the groups of needs want of it, and how it starts and ends."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from operator import and_

import numpy as np

from seqc.solver.positions import Positions, bits
from seqc.solver.sections.groups import Wants
from seqc.solver.sections.moves import Moves, Numbers
from seqc.solver.ways import both

MOST_PRESET = 6
"""Of so many unknown actuators it is left open how they are set first."""

MOST_SETTINGS = 10_000
"""So many sets of actuators are joined with the ways of one more want."""


class Section:
    """A section from its start to its end, and its `moves`.

    What groups of needs want has numbers, 0 where they want nothing.

    An actuator that isn't known and has to be set in any case takes one pulse for that, whatever
    its first position and whenever it comes. So where needs leave a choice such actuators are
    `preset`: their pulse is counted at the start, where they may stand either way.
    """

    def __init__(
        self, start: Positions, wants: Wants, of_group: Numbers, needs: int, end: Positions
    ) -> None:
        """`of_group` is what each group wants, single needs first; at the last pass `end` holds."""
        self.start = start
        self.end = end
        closing = [both(ways, (end,)) for ways in wants.ways]
        numbers = np.array([wants.number(ways) for ways in closing], np.int32)
        self.wants = wants.ways
        self.of_group = of_group
        self.of_closing = numbers[of_group]
        self.closes = np.array([bool(ways) for ways in closing])[of_group]
        self.kinds = sorted({int(want) for want in of_group[:needs]} - {0})
        self.preset = self._preset()
        first = [start.then(Positions(self.preset, thrown)) for thrown in self._choices()]
        self.moves = Moves(first, self.wants, of_group[:needs])

    @property
    def chooses(self) -> bool:
        """Whether some need leaves a choice."""
        return any(len(self.wants[kind]) > 1 for kind in self.kinds)

    @property
    def first_settings(self) -> int:
        """So many actuators at least that aren't known are set for the first time."""
        found = {self.preset | self.end.known & ~self.start.known}
        for kind in self.kinds:
            ways = {way.known & ~self.start.known for way in self.wants[kind]}
            if len(found) * len(ways) > MOST_SETTINGS:
                break
            found = {settings | way for settings in found for way in ways}
        return min(map(int.bit_count, found))

    def _preset(self) -> int:
        sure = self.end.known
        for kind in self.kinds:
            sure |= reduce(and_, (way.known for way in self.wants[kind]))
        unknown = sure & ~self.start.known
        return unknown if self.chooses and unknown.bit_count() <= MOST_PRESET else 0

    def _choices(self) -> list[int]:
        """All ways in which the actuators that are preset may be thrown."""
        found = [0]
        for index in bits(self.preset):
            found += [thrown | 1 << index for thrown in found]
        return found

    def path(self, order: Sequence[int]) -> list[Positions]:
        """A way for each pass of an order of groups so that the section moves least in all."""
        paths: dict[Positions, tuple[int, tuple[Positions, ...]]] = {self.start: (0, ())}
        for place, group in enumerate(order, start=1):
            longer: dict[Positions, tuple[int, tuple[Positions, ...]]] = {}
            wants = self.of_closing if place == len(order) else self.of_group
            ways = self.wants[wants[group]]
            for at, (pulses, path) in paths.items():
                for way in ways:
                    after, count = at.then(way), pulses + at.missing(way).bit_count()
                    if after not in longer or count < longer[after][0]:
                        longer[after] = count, (*path, way)
            paths = longer
        return list(min(paths.values(), key=lambda each: each[0])[1])
