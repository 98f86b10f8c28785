"""The order of the passes of one component: fewest pulses, proven where the effort suffices.

A state is the set of needs still to be loaded and the positions; from a state a pass leads to every
set of positions that some remaining needs agree on, and loads all that these positions fulfil.
The search takes the state with the least sum of pulses so far and pulses that must still come
(A*: P. Hart, N. Nilsson, B. Raphael, 1968). For the latter it asks the table of the shortest ways
through the needs one by one (Held and Karp): in whatever passes they are loaded, between one need
and the next at least the actuators on which they are opposed must move.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterator
from dataclasses import dataclass

from seqc.solver.passes.colouring import EffortError, class_search, clique, opposed
from seqc.solver.passes.held_karp import MOST_STOPS
from seqc.solver.passes.reduction import Component
from seqc.solver.passes.state_bound import StateBound
from seqc.solver.positions import UNKNOWN, Positions, bits
from seqc.solver.ways import Ways, actuators_in

MOST_PASSES = 16
"""Of more passes not all orders can be looked at."""

FEW_PASSES = 4
"""In more passes an actuator has too many trajectories to look at each."""

MOST_HOLDS = 100_000
FITTING_EFFORT = 2_000

PARTIAL = 8
"""So many beginnings of what a pass may hold take as long as a pass that is tried."""


@dataclass(frozen=True, slots=True)
class Order:
    """What each pass holds, in order; the pulses it takes, and how many it takes at least.

    Where an end was asked for, its pulses are counted, and it is to be set in the last pass of the
    grid.
    """

    holds: tuple[Positions, ...]
    pulses: int
    lower_bound: int


@dataclass(frozen=True, slots=True)
class OrderState:
    """After some passes: what is left, where everything stands, and how it came to this."""

    left: int
    positions: Positions
    passes_left: int
    pulses: int
    loaded: int = -1
    hold: Positions | None = None
    before: OrderState | None = None

    def holds(self) -> tuple[Positions, ...]:
        """What each pass so far holds, in order."""
        held = []
        state: OrderState | None = self
        while state is not None and state.hold is not None:
            held.append(state.hold)
            state = state.before
        return tuple(reversed(held))


class EndError(Exception):
    """No order of the passes ends in the positions that are asked for."""


class OrderSearch:
    """The search for the best order of one component within so many passes."""

    def __init__(
        self, component: Component, passes: int, effort: int = 0, stops: int = MOST_STOPS
    ) -> None:
        self.passes = passes
        self.end = component.end
        self.all_opposed = component.all_opposed
        self.start = component.start
        self.needs = _stops_first(component, stops)
        self.graph = () if component.complete else opposed(self.needs)
        self.everything = (1 << len(self.needs)) - 1
        tight = self.all_opposed and passes == len(self.needs)
        self.bound = StateBound(self.needs, self.end, tight, stops)
        self._classes = class_search(self.needs, self.graph)
        self._fitting: dict[tuple[int, int], bool] = {}
        self._cared_for: dict[int, int] = {}
        self._effort = effort
        self.spent = 0

    @property
    def first(self) -> OrderState:
        """Before the first pass."""
        return OrderState(self.everything, self.start, self.passes, 0)

    def best(self) -> Order:
        """The order with the fewest pulses.

        Raises EffortError where the effort doesn't suffice, EndError where the end can't be met.
        """
        first = self.first
        tickets = itertools.count()
        waiting = [(self.still(first), 0, next(tickets), first)]
        settled: dict[tuple[int, int], list[OrderState]] = {}
        while waiting:
            lower_bound, _, _, state = heapq.heappop(waiting)
            if not state.left:
                return Order(state.holds(), state.pulses, state.pulses)
            rivals = settled.setdefault((state.left, state.passes_left), [])
            if any(self._as_good(rival, state) for rival in rivals):
                continue
            rivals.append(state)
            try:
                for after in self.after(state):
                    rank = (after.pulses + self.still(after), after.left.bit_count())
                    heapq.heappush(waiting, (*rank, next(tickets), after))
            except EffortError:
                raise EffortError(lower_bound) from None
        raise EndError

    def _as_good(self, rival: OrderState, state: OrderState) -> bool:
        """Whether the rival gets as far as the state with no more pulses."""
        cared_for = self._care(state.left)
        moves = rival.positions.missing(state.positions) & cared_for
        return rival.pulses + moves.bit_count() <= state.pulses

    def _care(self, left: int) -> int:
        """The actuators that what is left, or the end, speaks of."""
        if left not in self._cared_for:
            mask = self.end.known
            for i in bits(left):
                mask |= actuators_in(self.needs[i])
            self._cared_for[left] = mask
        return self._cared_for[left]

    def still(self, state: OrderState) -> int:
        """A number of pulses that must still come."""
        return self.bound.still(state.positions, state.loaded, state.left)

    def after(self, state: OrderState) -> Iterator[OrderState]:
        """Every state that one more pass leads to."""
        for positions, (hold, need) in self._reached(state).items():
            alone = state.left ^ 1 << need
            left = alone if self.all_opposed else self._left(alone, positions)
            pulses = state.pulses + state.positions.missing(hold).bit_count()
            after = OrderState(left, positions, state.passes_left - 1, pulses, need, hold, state)
            if not left:
                yield from self._closed(after)
            elif self._fits(left, after.passes_left):
                yield after

    def _reached(self, state: OrderState) -> dict[Positions, tuple[Positions, int]]:
        """The positions that a pass can lead to, with what it must hold, and one need for it."""
        holds = self._holds(state.left, state.passes_left)
        self._spend(len(holds))
        return {state.positions.then(hold): (hold, need) for hold, need in holds.items()}

    def _spend(self, holds: int) -> None:
        self.spent += holds
        if self.spent > self._effort:
            raise EffortError

    def _left(self, left: int, positions: Positions) -> int:
        """What is left of some needs after a pass at these positions."""
        for i in bits(left):
            if any(positions.missing(way) == 0 for way in self.needs[i]):
                left ^= 1 << i
        return left

    def _closed(self, state: OrderState) -> Iterator[OrderState]:
        """The state with the end positions set: in this pass, or later if passes are to spare."""
        assert state.hold is not None
        before = state.before
        assert before is not None
        positions = state.positions.then(self.end)
        if state.passes_left:
            pulses = state.pulses + state.positions.missing(self.end).bit_count()
            yield OrderState(0, positions, state.passes_left, pulses, -1, state.hold, before)
        elif not self._left(before.left, positions):
            hold = state.hold.then(self.end)
            pulses = before.pulses + before.positions.missing(hold).bit_count()
            yield OrderState(0, positions, 0, pulses, -1, hold, before)

    def _holds(self, left: int, passes_left: int) -> dict[Positions, int]:
        """The positions that some needs agree on, for every such set, with one need of the set.

        Need by need, each is taken along or left for later as far as the passes to come allow.
        """
        if self.all_opposed:
            return {way: i for i in bits(left) for way in self.needs[i]}
        partial = {(UNKNOWN, 0): None}
        for i in sorted(bits(left), key=lambda i: -(self.graph[i] & left).bit_count()):
            partial = {
                more: None
                for hold, later in partial
                for more in self._with_or_without(hold, later, i, passes_left - 1)
            }
            self._spend(len(partial) // PARTIAL)
            if len(partial) > MOST_HOLDS:
                raise EffortError
        return {hold: next(bits(left & ~later)) for hold, later in partial if later != left}

    def _with_or_without(
        self, hold: Positions, later: int, need: int, passes: int
    ) -> Iterator[tuple[Positions, int]]:
        for way in self.needs[need]:
            if hold.meet(way):
                yield hold.then(way), later
                if hold.missing(way) == 0:
                    return
        if self._fits(later | 1 << need, passes):
            yield hold, later | 1 << need

    def _fits(self, left: int, passes: int) -> bool:
        """Whether so many passes may be enough for what is left."""
        if left.bit_count() <= passes:
            return True
        if self.all_opposed or not passes:
            return False
        if (left, passes) not in self._fitting:
            self._fitting[left, passes] = self._found(left, passes)
        return self._fitting[left, passes]

    def _found(self, left: int, passes: int) -> bool:
        if clique(self.graph, left).bit_count() > passes:
            return False
        try:
            return self._classes.classes(left, passes, FITTING_EFFORT) is not None
        except EffortError:
            return True


def _stops_first(component: Component, stops: int) -> tuple[Ways, ...]:
    """The needs, a large clique first, so that the first of them are the stops of the table."""
    count = len(component.needs)
    if count <= stops:
        return component.needs
    first = clique(component.graph, (1 << count) - 1)
    order = sorted(range(count), key=lambda i: not first >> i & 1)
    return tuple(component.needs[i] for i in order)
