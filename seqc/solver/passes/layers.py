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

from collections.abc import Iterator, Sequence
from functools import reduce
from operator import or_

import numpy as np
from numpy.typing import NDArray

from seqc.solver.passes.cliques import maximal_cliques
from seqc.solver.passes.colouring import ClassSearch, EffortError
from seqc.solver.passes.flips import FlipTable, Stops, chosen_stops
from seqc.solver.passes.layer_states import Joining, States, Wishes
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.reduction import Component
from seqc.solver.passes.words import Coding, Counts, Words, count, opposite
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import actuators_in, in_all

WIDTHS = (100, 3_000, 50_000, 1_000_000)
"""How many states a pass may keep, in one search after the other until one keeps all it has to."""

MOST_STOPS = 15
FEW_NEEDS = 16
AT_ONCE = 8_192
MOST_JOINED = 3_000_000
MOST_EFFORT = 3_000_000_000
RIVALS = 12
FEW_RIVALS = 3
FITTED_SETS = 1_500
FITTING_EFFORT = 2_000
FAR = 10_000


class LayerSearch:
    """The search for the best order of one component within so many passes."""

    def __init__(self, component: Component, passes: int) -> None:
        self.component = component
        self.needs = component.needs
        self.passes = passes
        coding = Coding(list(bits(_actuators(component))))
        self.ways = [way for ways in self.needs for way in ways]
        self.owners = [number for number, ways in enumerate(self.needs) for _ in ways]
        self.wants = coding.columns(self.ways)
        self.opposites = coding.columns(map(opposite, self.ways))
        self.start = coding.columns([component.start])
        self.end = coding.columns([component.end, opposite(component.end)])
        sure = [in_all(ways) for ways in self.needs]
        self.sure = coding.columns(sure)
        self.sure_not = coding.columns(map(opposite, sure))
        self.cliques = maximal_cliques(component.graph)
        sizes = [each.known.bit_count() for each in sure]
        few = len(self.needs) <= FEW_NEEDS
        most, tables = (FEW_NEEDS, 1) if few else (MOST_STOPS, 2)
        self.tables = [
            (stops, self._table(stops)) for stops in chosen_stops(self.cliques, sizes, most, tables)
        ]
        self._classes = ClassSearch(self.needs, component.graph)
        self._effort = MOST_EFFORT
        self._known_fits: dict[tuple[int, int], bool] = {}

    def _table(self, stops: Sequence[int]) -> FlipTable:
        graph = [
            sum(1 << place for place, other in enumerate(stops) if mask >> other & 1)
            for mask in (self.component.graph[stop] for stop in stops)
        ]
        chosen = Stops(self.sure[:, stops], self.sure_not[:, stops], graph)
        return FlipTable(chosen, self.start, self.end, self.passes)

    def best(self) -> Order:
        """The best order, or a good one with a bound.

        Raises EndError where the end can't be met, EffortError where no order was found.
        """
        best, least = FAR, 0
        holds: tuple[Positions, ...] = ()
        for width in WIDTHS:
            try:
                layers, left_out = self._search(best, width)
                if layers:
                    holds = self._holds(layers)
                    best = int(layers[-1].pulses[0])
            except EffortError:
                break
            least = max(least, min(best, left_out))
            if least == best:
                break
        if least == FAR:
            raise EndError
        if best == FAR:
            raise EffortError(least)
        return Order(holds, best, least)

    def _search(self, below: int, width: int) -> tuple[list[States], int]:
        """The layers to the best order with fewer pulses than `below`, none if there is none.

        The last layer begins with its end. With that the least pulses of what was left out.
        """
        everything = np.array([(1 << len(self.needs)) - 1], dtype=np.uint64)
        first = States(everything, self.start, np.zeros(1, np.int16), np.zeros(1, np.int32))
        layers = [self._settled(first, everything, np.zeros(1, np.intp))]
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
        found = []
        for first in range(0, len(states.left), AT_ONCE):
            chosen = np.arange(first, min(first + AT_ONCE, len(states.left)))
            _, after = self._passed(states.of(chosen), below, to_come)
            after = _merged(after._replace(before=after.before + np.int32(first)))
            found.append(self._bounded(after, below)[0])
        return self._uncovered(_undominated(_merged(States.of_all(found))))

    def _passed(self, states: States, below: int, to_come: int) -> tuple[Words, States]:
        """One more pass: where all stands in it, and the states after it."""
        joined = self._joined(states, below, to_come)
        after = self._loaded(joined.left, joined.at)
        sets, number = np.unique(after, return_inverse=True)
        possible = self._fitting(sets, to_come)[number] & (after != states.left[joined.before])
        found = joined._replace(left=after).of(possible)
        settled = self._settled(found, sets, number[possible])
        cheap = settled.pulses < below
        return found.at[:, cheap], settled.of(cheap)

    def _joined(self, states: States, below: int, to_come: int) -> States:
        """The states with every set of needs that agree joined, the numbers of ways ascending."""
        size = len(states.left)
        held, at, pulses = np.zeros_like(states.at), states.at, states.pulses
        if not to_come:
            wanted, opposed = self.end[:, :1], self.end[:, 1:]
            held = held | wanted
            pulses = pulses + count(wanted & ~at)
            at = at & ~opposed | wanted
        before = np.arange(size, dtype=np.int32)
        last = np.full(size, -1, np.int16)
        more = [Joining(States(states.left, at, pulses, before), held, last)]
        found = []
        while more:
            layer = Joining.of_all(more)
            found.append(layer.states)
            self._effort -= len(self.ways) * len(layer.last)
            if self._effort < 0 or sum(len(each.left) for each in found) > MOST_JOINED:
                raise EffortError
            more = [each for way in range(len(self.ways)) for each in self._with(layer, way, below)]
        return States.of_all(found)

    def _with(self, layer: Joining, way: int, below: int) -> Iterator[Joining]:
        """The states that take one more way along that moves something."""
        owner = np.uint64(self.owners[way])
        free = layer.states.left >> owner & np.uint64(1) == 1
        states = layer.states.of(chosen := np.flatnonzero(free & (layer.last < way)))
        wanted, opposed = self.wants[:, way, None], self.opposites[:, way, None]
        moves = count(wanted & ~states.at)
        held = layer.held[:, chosen]
        agree = ~(opposed & held).any(axis=0)
        taken = np.flatnonzero(agree & (moves > 0) & (states.pulses + moves < below))
        if len(taken):
            states = states.of(taken)
            left = states.left & ~(np.uint64(1) << owner)
            at = states.at & ~opposed | wanted
            joined = States(left, at, states.pulses + moves[taken], states.before)
            yield Joining(joined, held[:, taken] | wanted, np.full(len(left), way, np.int16))

    def _loaded(self, left: NDArray[np.uint64], at: Words) -> NDArray[np.uint64]:
        """What is left after all that the positions fulfil was loaded."""
        left = left.copy()
        for way, owner in enumerate(self.owners):
            fulfilled = ~(self.wants[:, way, None] & ~at).any(axis=0)
            left &= ~(fulfilled.astype(np.uint64) << np.uint64(owner))
        return left

    def _settled(
        self, states: States, sets: NDArray[np.uint64], number: NDArray[np.intp]
    ) -> States:
        """The states with all moved that is wanted in one position only, and the rest forgotten.

        What is left of each state is one of some sets, by its number.
        """
        wishes = self._wishes(sets)
        only = (wishes.sure & ~wishes.perhaps_not)[:, number]
        only_not = (wishes.sure_not & ~wishes.perhaps)[:, number]
        cared_for = (wishes.perhaps | wishes.perhaps_not)[:, number]
        pulses = states.pulses + count(only & ~states.at)
        return states._replace(at=states.at & cared_for & ~only_not | only, pulses=pulses)

    def _wishes(self, sets: NDArray[np.uint64]) -> Wishes:
        base, base_not = self.end[:, :1], self.end[:, 1:]
        needs, ways = range(len(self.needs)), self.owners
        return Wishes(
            _gathered(self.sure, needs, sets, base),
            _gathered(self.sure_not, needs, sets, base_not),
            _gathered(self.wants, ways, sets, base),
            _gathered(self.opposites, ways, sets, base_not),
        )

    def _uncovered(self, states: States) -> States:
        """The states of which no rival, with one need less left, is as good."""
        sets, first, size = np.unique(states.left, return_index=True, return_counts=True)
        number = np.repeat(np.arange(len(sets)), size)
        wishes = self._wishes(sets)
        cared_for = wishes.perhaps | wishes.perhaps_not
        kept = np.arange(len(states.left))
        for need in range(len(self.needs)):
            less = sets & ~(np.uint64(1) << np.uint64(need))
            place = np.minimum(np.searchsorted(sets, less), len(sets) - 1)
            there = (sets[place] == less) & (less != sets)
            for rank in range(FEW_RIVALS):
                later = np.flatnonzero((there & (rank < size[place]))[number[kept]])
                mine = kept[later]
                other = place[number[mine]]
                rival = first[other] + rank
                moves = count(states.at[:, mine] & ~states.at[:, rival] & cared_for[:, other])
                worse = states.pulses[rival] + moves <= states.pulses[mine]
                kept = np.delete(kept, later[worse])
        return states.of(kept)

    def _fitting(self, sets: NDArray[np.uint64], to_come: int) -> NDArray[np.bool_]:
        """Which sets of needs fit into the passes to come, as far as the effort goes."""
        fit = np.bitwise_count(sets) <= (len(self.needs) if to_come else 0)
        for clique in self.cliques:
            fit &= np.bitwise_count(sets & np.uint64(clique)) <= to_come
        open_ = np.flatnonzero(fit & (np.bitwise_count(sets) > to_come))
        if len(open_) <= FITTED_SETS and not self.component.all_opposed:
            for place in open_:
                fit[place] = self._fits(int(sets[place]), to_come)
        return fit

    def _fits(self, left: int, passes: int) -> bool:
        if (left, passes) not in self._known_fits:
            try:
                found = self._classes.classes(left, passes, FITTING_EFFORT)
                self._known_fits[left, passes] = found is not None
            except EffortError:
                self._known_fits[left, passes] = True
        return self._known_fits[left, passes]

    def _bounded(self, states: States, below: int) -> tuple[States, Counts]:
        """The states that may come to fewer pulses in all, and how few."""
        least = states.pulses.copy()
        for stops, table in self.tables:
            least = np.maximum(least, states.pulses + self._still(states, stops, table))
            hopeful = least < below
            states, least = states.of(hopeful), least[hopeful]
        return states, least

    def _still(self, states: States, stops: Sequence[int], table: FlipTable) -> Counts:
        """The pulses that must still come, by one table and what must move besides."""
        chosen = np.zeros(len(states.left), np.intp)
        for place, stop in enumerate(stops):
            chosen |= (states.left >> np.uint64(stop) & np.uint64(1)).astype(np.intp) << place
        sets, number = np.unique(states.left, return_inverse=True)
        base, base_not = self.end[:, :1], self.end[:, 1:]
        sure = _gathered(self.sure, range(len(self.needs)), sets, base)[:, number]
        sure_not = _gathered(self.sure_not, range(len(self.needs)), sets, base_not)[:, number]
        once = count(sure & ~sure_not & ~states.at)
        both = count(sure & sure_not & ~table.both[:, chosen]) // 2
        return once + both + table.still(chosen, states.at)

    def _narrowed(self, states: States, below: int, width: int) -> tuple[States, int]:
        """As many states as may be kept, the most hopeful, and the least that was left out."""
        if len(states.left) <= width:
            return states.of(states.pulses < below), FAR
        states, least = self._bounded(states, below)
        rank = np.argsort(least, kind="stable")
        dropped = least[rank[width:]]
        return states.of(rank[:width]), int(dropped[0]) if len(dropped) else FAR

    def _holds(self, layers: Sequence[States]) -> tuple[Positions, ...]:
        """What each pass holds on the way to the first state of the last layer."""
        holds: list[Positions] = []
        place = 0
        for number in range(len(layers) - 1, 0, -1):
            after = layers[number]
            left, pulses = int(after.left[place]), int(after.pulses[place])
            before = int(after.before[place])
            state = layers[number - 1].of(np.array([before]))
            at, found = self._passed(state, pulses + 1, self.passes - number)
            same = (found.left == left) & (found.pulses == pulses)
            same &= (found.at == after.at[:, place, None]).all(axis=0)
            loaded = int(state.left[0]) & ~left
            holds.append(self._hold(loaded, at[:, np.flatnonzero(same)[0], None]))
            place = before
        return tuple(reversed(holds))

    def _hold(self, loaded: int, at: Words) -> Positions:
        """What the needs that are loaded hold, each by the first of its ways that is fulfilled."""
        hold = Positions()
        for way, owner in enumerate(self.owners):
            if loaded >> owner & 1 and not (self.wants[:, way, None] & ~at).any():
                hold = hold.then(self.ways[way])
                loaded ^= 1 << owner
        return hold


def _actuators(component: Component) -> int:
    return reduce(or_, map(actuators_in, component.needs), component.end.known)


def _gathered(
    columns: Words, owners: Sequence[int], sets: NDArray[np.uint64], base: Words
) -> Words:
    """By set of owners, the bits of all their columns, and of a base."""
    found = np.repeat(base, len(sets), axis=1)
    for number, owner in enumerate(owners):
        inside = np.uint64(0) - (sets >> np.uint64(owner) & np.uint64(1))
        found |= columns[:, number, None] & inside
    return found


def _merged(states: States) -> States:
    """Of equal states the one with the fewest pulses."""
    states = states.of(np.lexsort((states.pulses, *states.at, states.left)))
    new = np.ones(len(states.left), bool)
    new[1:] = states.left[1:] != states.left[:-1]
    new[1:] |= (states.at[:, 1:] != states.at[:, :-1]).any(axis=0)
    return states.of(new)


def _undominated(states: States) -> States:
    """The states whose positions aren't reached as cheaply from a rival with the same left."""
    states = states.of(np.lexsort((states.pulses, states.left)))
    new = np.ones(len(states.left), bool)
    new[1:] = states.left[1:] != states.left[:-1]
    first = np.flatnonzero(new)[np.cumsum(new) - 1]
    kept = np.arange(len(new))
    for rank in range(RIVALS):
        rivals = first[kept] + rank
        moves = np.full(len(kept), FAR, np.int16)
        later = np.flatnonzero(rivals < kept)
        rival = rivals[later]
        moves[later] = count(states.at[:, kept[later]] & ~states.at[:, rival])
        moves[later] += states.pulses[rival]
        kept = kept[moves > states.pulses[kept]]
    return states.of(kept)
