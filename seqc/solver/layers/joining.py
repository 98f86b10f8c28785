"""What one pass can load: needs that agree, joined one by one, from many states at once."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from seqc.solver.layers.bound import LayerBound
from seqc.solver.layers.coded_needs import CodedNeeds
from seqc.solver.layers.states import Joining, States
from seqc.solver.layers.words import count
from seqc.solver.passes.colouring import EffortError

MOST_JOINED = 3_000_000
BOUNDED_STEPS = 2
"""After so many needs of a pass are joined, the bound costs more than it cuts."""


class Joiner:
    """Joins the needs of a pass, as far as the orders that follow may take few enough pulses.

    The first step of a pass takes a leader, even one that nothing has to be moved for, or another
    need where fewer leaders are left than passes.
    """

    def __init__(self, coded: CodedNeeds, bound: LayerBound) -> None:
        self._coded = coded
        self._bound = bound

    def joined(self, states: States, below: int, to_come: int) -> States:
        """The states with every set of needs that agree joined, the numbers of ways ascending.

        Raises EffortError where they are too many.
        """
        started = self._start(states, to_come)
        spare = self._coded.leaders_left(states.left) <= to_come
        found = [started.states.of(spare)]
        more = list(self._first(started, spare, below))
        ways = range(len(self._coded.ways))
        for step in range(len(self._coded.needs)):
            if not more:
                break
            layer = Joining.of_all(more)
            if step < BOUNDED_STEPS:
                layer = self._promising(layer, below)
            found.append(layer.states)
            if sum(len(each.left) for each in found) > MOST_JOINED:
                raise EffortError
            more = [
                each for way in ways for each in self._with(layer, layer.last < way, way, below)
            ]
        return States.of_all(found)

    def _start(self, states: States, to_come: int) -> Joining:
        """The states before a pass, in the last one with the end set."""
        held, at, pulses = np.zeros_like(states.at), states.at, states.pulses
        if not to_come:
            wanted, opposed = self._coded.end[:, :1], self._coded.end[:, 1:]
            held = held | wanted
            pulses = pulses + count(wanted & ~at)
            at = at & ~opposed | wanted
        before = np.arange(len(states.left), dtype=np.int32)
        last = np.full(len(states.left), -1, np.int16)
        return Joining(States(states.left, at, pulses, before), held, last)

    def _first(self, started: Joining, spare: NDArray[np.bool_], below: int) -> Iterator[Joining]:
        """The states with the first way of the pass."""
        ahead = self._bound.ahead(started.states)
        for way, owner in enumerate(self._coded.owners):
            leads = owner < self._coded.leaders
            chosen = np.ones_like(spare) if leads else spare
            if owner in ahead:
                chosen = chosen & (started.states.pulses + ahead[owner] < below)
            yield from self._with(started, chosen, way, below, leads)

    def _with(
        self, layer: Joining, chosen: NDArray[np.bool_], way: int, below: int, idle: bool = False
    ) -> Iterator[Joining]:
        """Some of the states with one more way, if it moves something, or `idle` ones too."""
        coded = self._coded
        owner = np.uint64(coded.owners[way])
        here = np.flatnonzero(chosen & (layer.states.left >> owner & np.uint64(1) == 1))
        states, held = layer.states.of(here), layer.held[:, here]
        wanted, opposed = coded.demands[:, way, None], coded.opposites[:, way, None]
        moves = count(wanted & ~states.at)
        agree = ~(opposed & held).any(axis=0)
        taken = np.flatnonzero(agree & ((moves > 0) | idle) & (states.pulses + moves < below))
        if len(taken):
            states = states.of(taken)
            left = states.left & ~(np.uint64(1) << owner)
            at = states.at & ~opposed | wanted
            joined = States(left, at, states.pulses + moves[taken], states.before)
            yield Joining(joined, held[:, taken] | wanted, np.full(len(left), way, np.int16))

    def _promising(self, layer: Joining, below: int) -> Joining:
        kept, _ = self._bound.bounded(layer.states, below)
        return Joining(layer.states.of(kept), layer.held[:, kept], layer.last[kept])
