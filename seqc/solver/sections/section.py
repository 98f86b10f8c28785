"""One section: how far it can have come after some passes, and how it goes on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import reduce
from operator import and_, or_

import numpy as np
from numpy.typing import NDArray

from seqc.solver.positions import Positions, bits
from seqc.solver.sections.groups import Wants
from seqc.solver.ways import Ways, both

MOST_PRESET = 6
"""Of so many unknown actuators it is left open how they are set first."""

MOST_SETTINGS = 10_000
"""So many sets of actuators are joined with the ways of one more want."""

Numbers = NDArray[np.int32]


class Section:
    """The states of one section, each with a number; 0 is that of the start.

    A state tells by where the section may stand how many pulses more that took than the fewest.
    What groups of needs want has numbers too, 0 where they want nothing.

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
        self._states: list[Mapping[Positions, int]] = []
        self._numbers: dict[frozenset[tuple[Positions, int]], int] = {}
        self._needs = [self.wants[want] for want in of_group[:needs]]
        self._pulses = np.full((1, len(self.wants)), -1, np.int32)
        self._after = np.zeros((1, len(self.wants)), np.int32)
        self._serves = np.zeros(1, np.uint64)
        self._number({start.then(Positions(self.preset, thrown)): 0 for thrown in self._choices()})

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

    def moved(self, states: Numbers, wants: Numbers) -> tuple[Numbers, Numbers]:
        """The pulses that passes add to the fewest, and the states after them."""
        pulses = self._pulses[states, wants]
        unknown = np.flatnonzero(pulses < 0)
        if len(unknown):
            width = len(self.wants)
            for code in np.unique(states[unknown].astype(np.int64) * width + wants[unknown]):
                self._move(*divmod(int(code), width))
            pulses = self._pulses[states, wants]
        return pulses, self._after[states, wants]

    def moved_from(self, state: int, want: int) -> tuple[int, int]:
        """The pulses that one pass adds to the fewest, and the state after it."""
        if self._pulses[state, want] < 0:
            self._move(state, want)
        return int(self._pulses[state, want]), int(self._after[state, want])

    def served(self, states: Numbers) -> NDArray[np.uint64]:
        """The bit sets of needs that want nothing more of the section, wherever it stands."""
        return self._serves[states]

    def _move(self, state: int, want: int) -> None:
        found = _reached(self._states[state], self.wants[want])
        added = min(found.values())
        number = self._number({at: pulses - added for at, pulses in found.items()})
        self._pulses[state, want], self._after[state, want] = added, number

    def _number(self, state: Mapping[Positions, int]) -> int:
        """The number of a state, a new one if it isn't known."""
        number = self._numbers.setdefault(frozenset(state.items()), len(self._states))
        if number == len(self._states):
            self._states.append(state)
            if number == len(self._serves):
                self._pulses = np.concatenate([self._pulses, np.full_like(self._pulses, -1)])
                self._after = np.concatenate([self._after, np.zeros_like(self._after)])
                self._serves = np.concatenate([self._serves, np.zeros_like(self._serves)])
            self._serves[number] = reduce(
                or_,
                (1 << need for need, ways in enumerate(self._needs) if _holds(state, ways)),
                0,
            )
        return number

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


def _holds(state: Mapping[Positions, int], ways: Ways) -> bool:
    """Whether a condition holds wherever the section may stand."""
    return all(any(not at.missing(way) for way in ways) for at in state)


def _reached(state: Mapping[Positions, int], ways: Ways) -> dict[Positions, int]:
    """Where a section can stand after one more pass, without where it is never better to stand."""
    found: dict[Positions, int] = {}
    for at, pulses in state.items():
        for way in ways:
            after, count = at.then(way), pulses + at.missing(way).bit_count()
            found[after] = min(found.get(after, count), count)
    return {
        at: pulses
        for at, pulses in found.items()
        if not any(
            other != at and less + other.missing(at).bit_count() <= pulses
            for other, less in found.items()
        )
    }
