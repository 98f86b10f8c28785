"""The needs of a load as words, those of the leaders first.

Leaders are needs of which no two share a pass: as many as have to be loaded, so many passes must
still come.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import reduce
from operator import or_

import numpy as np
from numpy.typing import NDArray

from seqc.solver.layers.states import States, Wishes
from seqc.solver.layers.words import Coding, Words, count, opposite
from seqc.solver.passes.colouring import clique, opposed
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import Ways, actuators_in, in_all


class CodedNeeds:
    """The needs of a component, each way of them as a column, with start and end."""

    def __init__(self, component: Component) -> None:
        self.needs = _leaders_first(component)
        self.graph = opposed(self.needs)
        self.leaders = clique(self.graph, self.everything).bit_count()
        self.ways = [way for ways in self.needs for way in ways]
        self.owners = [number for number, ways in enumerate(self.needs) for _ in ways]
        self.coding = Coding(list(bits(_actuators(component))))
        self.demands, self.opposites = _pair(self.coding, self.ways)
        self.start = self.coding.columns([component.start])
        self.end = self.coding.columns([component.end, opposite(component.end)])
        self._sure = [in_all(ways) for ways in self.needs]
        self.sure, self.sure_not = _pair(self.coding, self._sure)
        self.sizes = [each.known.bit_count() for each in self._sure]

    @property
    def everything(self) -> int:
        """The bit set of all needs."""
        return (1 << len(self.needs)) - 1

    def first(self) -> States:
        """Before the first pass."""
        left = np.array([self.everything], dtype=np.uint64)
        before = States(left, self.start, np.zeros(1, np.int16), np.zeros(1, np.int32))
        return self.settled(before, left, np.zeros(1, np.intp))

    def leaders_left(self, left: NDArray[np.uint64]) -> NDArray[np.uint8]:
        """How many leaders are still to be loaded."""
        found: NDArray[np.uint8] = np.bitwise_count(left & np.uint64((1 << self.leaders) - 1))
        return found

    def loaded(self, left: NDArray[np.uint64], at: Words) -> NDArray[np.uint64]:
        """What is left after all that the positions fulfil was loaded."""
        left = left.copy()
        for way, owner in enumerate(self.owners):
            fulfilled = ~(self.demands[:, way, None] & ~at).any(axis=0)
            left &= ~(fulfilled.astype(np.uint64) << np.uint64(owner))
        return left

    def settled(self, states: States, sets: NDArray[np.uint64], number: NDArray[np.intp]) -> States:
        """The states with all moved that is wanted in one position only, and the rest forgotten.

        What is left of each state is one of some sets, by its number.
        """
        wishes = self.wishes(sets)
        only = (wishes.sure & ~wishes.perhaps_not)[:, number]
        only_not = (wishes.sure_not & ~wishes.perhaps)[:, number]
        cared_for = wishes.cared_for[:, number]
        pulses = states.pulses + count(only & ~states.at)
        return states._replace(at=states.at & cared_for & ~only_not | only, pulses=pulses)

    def wishes(self, sets: NDArray[np.uint64]) -> Wishes:
        """What the needs of each set, and the end, want for certain or perhaps."""
        base, base_not = self.end[:, :1], self.end[:, 1:]
        return Wishes(
            *self.certain(sets),
            gathered(self.demands, self.owners, sets, base),
            gathered(self.opposites, self.owners, sets, base_not),
        )

    def certain(self, sets: NDArray[np.uint64]) -> tuple[Words, Words]:
        """What the needs of each set, and the end, want for certain, and the opposite."""
        needs = range(len(self.needs))
        return (
            gathered(self.sure, needs, sets, self.end[:, :1]),
            gathered(self.sure_not, needs, sets, self.end[:, 1:]),
        )

    def hold(self, loaded: int, at: Words) -> Positions:
        """What the needs that are loaded hold, each by the first of its ways that is fulfilled."""
        hold = Positions()
        for way, owner in enumerate(self.owners):
            if loaded >> owner & 1 and not (self.demands[:, way, None] & ~at).any():
                hold = hold.then(self.ways[way])
                loaded ^= 1 << owner
        return hold


def _leaders_first(component: Component) -> tuple[Ways, ...]:
    leaders = clique(component.graph, (1 << len(component.needs)) - 1)
    order = sorted(range(len(component.needs)), key=lambda i: not leaders >> i & 1)
    return tuple(component.needs[i] for i in order)


def _actuators(component: Component) -> int:
    return reduce(or_, map(actuators_in, component.needs), component.end.known)


def _pair(coding: Coding, several: Iterable[Positions]) -> tuple[Words, Words]:
    """A column for each, and one for the opposite of each."""
    positions = list(several)
    return coding.columns(positions), coding.columns(map(opposite, positions))


def gathered(columns: Words, owners: Sequence[int], sets: NDArray[np.uint64], base: Words) -> Words:
    """By set of owners, the bits of all their columns, and of a base; a column for each set."""
    found = np.repeat(base, len(sets), axis=1)
    for number, owner in enumerate(owners):
        inside = np.uint64(0) - (sets >> np.uint64(owner) & np.uint64(1))
        found |= columns[:, number, None] & inside
    return found
