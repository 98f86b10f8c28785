"""The order of the passes where needs leave actuators open: all states of a pass at once.

A state is what is left and where the actuators stand, with the pulses so far. In a pass any needs
that agree are joined, one by one, and all that the positions then fulfil are loaded. Of equal
states the one with the fewest pulses stays; a state from whose rival its positions are reached at
no more pulses goes (dynamic programming with dominance and bounds: T. Ibaraki, Enumerative
approaches to combinatorial optimization, 1987).

An actuator about which all that is left agrees is moved, and counted, at once: nothing is gained by
moving it later, and states that differ in it alone become equal.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from seqc.machine.effort import Work
from seqc.solver.layers.bound import LayerBound
from seqc.solver.layers.cliques import maximal_cliques
from seqc.solver.layers.coded_needs import CodedNeeds
from seqc.solver.layers.dominance import merged, uncovered, undominated
from seqc.solver.layers.fitting import Fitting
from seqc.solver.layers.joining import Joiner
from seqc.solver.layers.states import States
from seqc.solver.layers.words import WORD, Words
from seqc.solver.passes.colouring import EffortError, class_search
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions

ALL = 1 << 62
"""As many states of a pass as there are."""

AT_ONCE = 8_192
EACH_WAY = 100
"""Joining a way takes as long as so many states, however few there are."""

JOINED = 40
"""It is as much work as a node to join so many states."""

WIDTHS = (100, 3_000, ALL)
FAR = 10_000


def order_by_layers(component: Component, count: int, work: Work) -> Order:
    """The order of a component with the fewest pulses within so many passes.

    Where the effort doesn't suffice, a good one with a bound. Raises EndError where the end can't
    be met, EffortError where no order was found.
    """
    if len(component.needs) > WORD:
        raise EffortError
    found, lower_bound = LayerSearch(component, count, work).better(FAR, WIDTHS)
    if lower_bound == FAR:
        raise EndError
    if found is None:
        raise EffortError(lower_bound)
    return found


class LayerSearch:
    """The search for the best order of one component within so many passes."""

    def __init__(self, component: Component, passes: int, work: Work) -> None:
        self.passes = passes
        self._coded = CodedNeeds(component)
        cliques = maximal_cliques(self._coded.graph)
        self._bound = LayerBound(self._coded, cliques, passes, work)
        self._joiner = Joiner(self._coded, self._bound)
        self._work = work
        classes = class_search(self._coded.needs, self._coded.graph)
        self._fitting = Fitting(classes, cliques)

    def better(self, below: int, widths: Sequence[int]) -> tuple[Order | None, int]:
        """The best order with fewer pulses than `below`, if one is found.

        `widths` are how many states a pass may keep, in one search after the other until one keeps
        all that it has to. With the order a number of pulses that no order is less than; it is
        `below` if there is none.
        """
        best, lower_bound = below, 0
        holds: tuple[Positions, ...] | None = None
        for width in widths:
            try:
                layers, left_out = self._search(best, width)
            except EffortError:
                break
            if layers:
                holds = self._holds(layers)
                best = int(layers[-1].pulses[0])
            lower_bound = max(lower_bound, min(best, left_out))
            if lower_bound == best:
                break
        return (None if holds is None else Order(holds, best, lower_bound)), lower_bound

    def _search(self, below: int, width: int) -> tuple[list[States], int]:
        """The layers to the best order with fewer pulses than `below`, none if there is none.

        The last layer begins with its end. With that the least pulses of what was left out.
        """
        layers = [self._coded.first()]
        best: list[States] = []
        left_out = FAR
        for to_come in reversed(range(self.passes)):
            states = self._next(layers[-1], below, to_come)
            done = np.flatnonzero(states.left == 0)
            if len(done):
                closing = states.of(done[np.argmin(states.pulses[done])][None])
                below = int(closing.pulses[0])
                best = [*layers, closing]
            states, dropped = self._narrowed(states.of(states.left != 0), below, width)
            left_out = min(left_out, dropped)
            if not len(states.left):
                break
            layers.append(states)
        return best, left_out

    def _next(self, states: States, below: int, to_come: int) -> States:
        """All that one more pass leads to from any of the states."""
        found: list[States] = []
        for first in range(0, len(states.left), AT_ONCE):
            if self._work.over:
                raise EffortError
            chosen = np.arange(first, min(first + AT_ONCE, len(states.left)))
            _, after = self._passed(states.of(chosen), below, to_come)
            after = merged(after._replace(before=after.before + np.int32(first)))
            promising, _ = self._bound.bounded(after, below)
            found.append(after.of(promising))
        return uncovered(undominated(merged(States.of_all(found))), self._coded)

    def _passed(self, states: States, below: int, to_come: int) -> tuple[Words, States]:
        """One more pass: where all stands in it, and the states after it."""
        joined = self._joiner.joined(states, below, to_come)
        self._work.spend((EACH_WAY * len(self._coded.ways) + len(joined.left)) // JOINED)
        after = self._coded.loaded(joined.left, joined.at)
        sets, number = np.unique(after, return_inverse=True)
        possible = self._fitting.fitting(sets, to_come)[number]
        possible &= after != states.left[joined.before]
        found = joined._replace(left=after).of(possible)
        settled = self._coded.settled(found, sets, number[possible])
        cheap = settled.pulses < below
        return found.at[:, cheap], settled.of(cheap)

    def _narrowed(self, states: States, below: int, width: int) -> tuple[States, int]:
        """As many states as may be kept, the most hopeful, and the least that was left out."""
        if len(states.left) <= width:
            return states.of(states.pulses < below), FAR
        kept, lower_bound = self._bound.bounded(states, below)
        rank = np.argsort(lower_bound, kind="stable")
        dropped = lower_bound[rank[width:]]
        return states.of(kept[rank[:width]]), int(dropped[0]) if len(dropped) else FAR

    def _holds(self, layers: Sequence[States]) -> tuple[Positions, ...]:
        """What each pass holds on the way to the first state of the last layer."""
        holds: list[Positions] = []
        place = 0
        below = int(layers[-1].pulses[0]) + 1
        for number in range(len(layers) - 1, 0, -1):
            after = layers[number]
            left, pulses = int(after.left[place]), int(after.pulses[place])
            before = int(after.before[place])
            state = layers[number - 1].of(np.array([before]))
            at, found = self._passed(state, below, self.passes - number)
            same = (found.left == left) & (found.pulses == pulses)
            same &= (found.at == after.at[:, place, None]).all(axis=0)
            loaded = int(state.left[0]) & ~left
            holds.append(self._coded.hold(loaded, at[:, np.flatnonzero(same)[0], None]))
            place = before
        return tuple(reversed(holds))
