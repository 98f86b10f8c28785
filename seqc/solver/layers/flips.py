"""How many pulses must still come when needs leave actuators open: a table over sets of stops.

Each actuator moves as often as the needs that speak of it, in the order of their loading, change
their mind. While needs of both minds are left, a table counts:
- the first move of an actuator, which comes with the first need that opposes its start;
- its last move, due for certain from the moment when all that is left agrees about it;
- the moves between as far as a memory of the last two needs knows of them.
The first two depend on which needs are left and which one is loaded only, so they are exact. The
rest is a shortest way through all needs as in Held and Karp's table; see `held_karp.py`.

The passes are counted too, by cliques: those that are loaded and those that are left must together
fit into them. Where they don't by one, a pass is under way, and the next need goes along with it.

The table holds for any part of the needs too: with some left out an actuator moves no oftener.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from seqc.solver.layers.words import Counts, Words, count

FAR = 10_000
"""Longer than any way; so many steps more are no trouble to 16 bits."""


STEPS = 300
"""It is as much work as a node to look at so many steps of a table."""


def flip_nodes(stops: int) -> int:
    """How many nodes of work a table is."""
    return (stops**3 << stops) // (4 * STEPS)


@dataclass(frozen=True, slots=True)
class Stops:
    """The needs of a table: what each wants, the opposite, and by each the set it is opposed to."""

    demands: Words
    opposites: Words
    graph: Sequence[int]

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.graph)


class FlipTable:
    """The bound for some needs, the stops, by columns of what each wants and of the opposite."""

    def __init__(self, stops: Stops, start: Words, end: Words, passes: int) -> None:
        """`end` has two columns: what must hold after the last pass, and its opposite."""
        self.stops = stops
        self.wanted = _joined(stops.demands, end[:, :1])
        self.both = self.wanted & _joined(stops.opposites, end[:, 1:])
        self._had = _joined(stops.demands, start)[:, ::-1]
        self._fresh = self.both & ~self._had
        self._due = [self._last_moves(stop) for stop in range(stops.count)]
        together = _clique_sizes(stops.graph)
        self._spare = passes - together - together[::-1]
        self._ways = self._table()

    def _last_moves(self, stop: int) -> Counts:
        """By set left, the actuators about which all agree once this stop is loaded."""
        sets = np.arange(1 << self.stops.count)
        still = self.wanted[:, sets & ~(1 << stop)]
        return count(self.stops.demands[:, stop, None] & self.both & ~still)

    def _table(self) -> Counts:
        """For the last stop, the set left and the last but one, the moves counted from there."""
        size = self.stops.count
        ways = np.full((size, 1 << size, size), FAR, dtype=np.int16)
        ways[:, 0] = 0
        sizes = np.bitwise_count(np.arange(1 << size))
        for left in range(1, size):
            sets = np.flatnonzero((sizes == left) & (self._spare >= -1))
            for stop in range(size):
                self._step(ways, sets[sets >> stop & 1 == 1], stop)
        return ways

    def _step(self, ways: Counts, sets: NDArray[np.intp], stop: int) -> None:
        """Take into account that the next stop of these sets is a certain one."""
        after = sets ^ 1 << stop
        wanted = self.stops.demands[:, stop, None] & self.both[:, sets]
        had = wanted & self._had[:, sets]
        sure = self._due[stop][sets] + count(wanted & ~had)
        for last in range(self.stops.count):
            if last == stop:
                continue
            possible = sets >> last & 1 == 0
            if self.stops.graph[last] >> stop & 1:
                possible &= self._spare[sets] >= 0
            here = np.flatnonzero(possible)
            onward = sure[here] + ways[stop, after[here], last]
            there = sets[here]
            moves = self._moves(had[:, here], last)
            ways[last, there] = np.minimum(ways[last, there], onward[:, None] + moves)

    def _moves(self, wanted: Words, last: int) -> NDArray[np.uint8]:
        """Of what is wanted, what the last two stops oppose, by the last but one."""
        opposed = self.stops.opposites & ~self.stops.demands[:, last, None]
        opposed |= self.stops.opposites[:, last, None]
        found: NDArray[np.uint8] = np.bitwise_count(wanted[0][:, None] & opposed[0])
        for word in range(1, len(wanted)):
            found += np.bitwise_count(wanted[word][:, None] & opposed[word])
        return found

    def still(self, sets: NDArray[np.intp], at: Words) -> Counts:
        """The moves at least of the actuators about which the stops left are of both minds."""
        lower_bound = self.ahead(sets, at).min(axis=0)
        return np.where(sets == 0, 0, np.maximum(lower_bound, 0)).astype(np.int16)

    def ahead(self, sets: NDArray[np.intp], at: Words) -> Counts:
        """The same by the stop that is loaded next, a row for each; `FAR` where it isn't left.

        Where positions hold that no stop loaded so far wanted, a move that the table counts may
        have been made already.
        """
        found = np.full((self.stops.count, len(sets)), FAR, np.int16)
        before = self._held_stop(sets, at)
        for stop in range(self.stops.count):
            here = np.flatnonzero(sets >> stop & 1)
            left = sets[here]
            after = left ^ 1 << stop
            held = at[:, here]
            wanted = self.stops.demands[:, stop, None] & self.both[:, left]
            made = self._fresh[:, after] & held & ~self.stops.opposites[:, stop, None]
            moves = count(wanted & ~held) - count(made) + self._due[stop][left]
            last = np.where(before[here] < 0, stop, before[here])
            found[stop, here] = moves + self._ways[stop, after, last]
        return found

    def _held_stop(self, sets: NDArray[np.intp], at: Words) -> NDArray[np.intp]:
        """A stop loaded already that the positions still hold: the one that says most, or -1.

        As far as the table goes it may be the one that was loaded last.
        """
        both = self.both[:, sets]
        found = np.full(len(sets), -1, np.intp)
        most = np.full(len(sets), -1, np.int16)
        for stop in range(self.stops.count):
            wanted = self.stops.demands[:, stop, None] & both
            says = np.where((wanted & ~at).any(axis=0) | (sets >> stop & 1 == 1), -1, count(wanted))
            found = np.where(says > most, stop, found)
            most = np.maximum(most, says)
        return found


def _clique_sizes(graph: Sequence[int]) -> NDArray[np.int16]:
    """By set, the size of the largest set in it of which any two are opposed."""
    sizes = np.zeros(1 << len(graph), dtype=np.int16)
    for stop, opposed in enumerate(graph):
        half = 1 << stop
        with_it = 1 + sizes[np.arange(half) & opposed]
        sizes[half : 2 * half] = np.maximum(sizes[:half], with_it)
    return sizes


def _joined(columns: Words, base: Words) -> Words:
    """By set of columns, the bits of all of them, and of a base."""
    found = np.repeat(base, 1 << columns.shape[1], axis=1)
    for stop in range(columns.shape[1]):
        half = 1 << stop
        found[:, half : 2 * half] = found[:, :half] | columns[:, stop, None]
    return found


def chosen_stops(cliques: Sequence[int], sizes: Sequence[int], most: int) -> list[int]:
    """The stops of a table: the largest clique, and of the rest the needs that say most."""
    members = max(cliques, key=lambda clique: clique.bit_count())
    rank = sorted(range(len(sizes)), key=lambda need: (not members >> need & 1, -sizes[need]))
    return sorted(rank[:most])
