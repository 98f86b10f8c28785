"""How many pulses must still come when needs leave actuators open: a table over sets of stops.

Each actuator moves as often as the needs that speak of it, in the order of their loading, change
their mind. While needs of both minds are left, a table counts:
- the first move of an actuator, which comes with the first need that opposes its start;
- its last move, due for certain from the moment when all that is left agrees about it;
- the moves between as far as a memory of the last two needs knows of them.
The first two depend on which needs are left and which one is loaded only, so they are exact. The
rest is a shortest way through all needs as in Held and Karp's table; see `held_karp.py`.

The table holds for any part of the needs too: with some left out an actuator moves no oftener.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from seqc.solver.words import Counts, Words, count

FAR = 255
FURTHEST = 30_000

_Lengths: TypeAlias = NDArray[np.uint8] | NDArray[np.uint16]


class FlipTable:
    """The bound for some needs, the stops, by columns of what each wants and of the opposite."""

    def __init__(self, wants: Words, opposites: Words, start: Words, end: Words) -> None:
        """`end` has two columns: what must hold after the last pass, and its opposite."""
        self.wants, self.opposites = wants, opposites
        self.stops = wants.shape[1]
        self.left = _joined(wants, end[:, :1])
        self.both = self.left & _joined(opposites, end[:, 1:])
        self._had = _joined(wants, start)[:, ::-1]
        self._fresh = self.both & ~self._had
        self._due = [self._last_moves(stop) for stop in range(self.stops)]
        self._ways = self._table()

    def _last_moves(self, stop: int) -> Counts:
        """By set left, the actuators about which all agree once this stop is loaded."""
        sets = np.arange(1 << self.stops)
        still = self.left[:, sets & ~(1 << stop)]
        return count(self.wants[:, stop, None] & self.both & ~still)

    def _table(self) -> _Lengths:
        """For the last two stops and the set left, the moves that the table counts from there."""
        longest = int(count(self.wants).sum() + count(self.both[:, -1:]).sum())
        number = np.uint8 if longest < FAR else np.uint16
        ways = np.full((self.stops, self.stops, 1 << self.stops), FAR, dtype=number)
        ways[:, :, 0] = 0
        sizes = np.bitwise_count(np.arange(1 << self.stops))
        for size in range(1, self.stops):
            sets = np.flatnonzero(sizes == size)
            for stop in range(self.stops):
                self._step(ways, sets[sets >> stop & 1 == 1], stop)
        return ways

    def _step(self, ways: _Lengths, sets: NDArray[np.intp], stop: int) -> None:
        """Take into account that the next stop of these sets is a certain one."""
        after = sets ^ 1 << stop
        wanted = self.wants[:, stop, None] & self.both[:, sets]
        had = wanted & self._had[:, sets]
        sure = (self._due[stop][sets] + count(wanted & ~had)).astype(ways.dtype)
        for last in range(self.stops):
            if last == stop:
                continue
            here = np.flatnonzero(sets >> last & 1 == 0)
            onward = sure[here] + ways[last, stop, after[here]]
            there = sets[here]
            moves = self._moves(had[:, here], last)
            ways[:, last, there] = np.minimum(ways[:, last, there], onward + moves)

    def _moves(self, wanted: Words, last: int) -> NDArray[np.uint8]:
        """Of what is wanted, what the last two stops oppose, by the last but one."""
        opposed = self.opposites & ~self.wants[:, last, None] | self.opposites[:, last, None]
        found: NDArray[np.uint8] = np.bitwise_count(wanted[0] & opposed[0][:, None])
        for word in range(1, len(wanted)):
            found += np.bitwise_count(wanted[word] & opposed[word][:, None])
        return found

    def still(self, sets: NDArray[np.intp], at: Words) -> Counts:
        """The moves at least of the actuators about which the stops left are of both minds.

        Where positions hold that no stop loaded so far wanted, a move that the table counts may
        have been made already.
        """
        least = np.where(sets == 0, 0, FURTHEST).astype(np.int16)
        for stop in range(self.stops):
            here = np.flatnonzero(sets >> stop & 1)
            before = sets[here]
            after = before ^ 1 << stop
            held = at[:, here]
            wanted = self.wants[:, stop, None] & self.both[:, before]
            made = self._fresh[:, after] & held & ~self.opposites[:, stop, None]
            moves = count(wanted & ~held) - count(made)
            moves += self._due[stop][before]
            moves += self._ways[stop, stop, after].astype(np.int16)
            least[here] = np.minimum(least[here], moves)
        return np.maximum(least, 0)


def _joined(columns: Words, base: Words) -> Words:
    """By set of columns, the bits of all of them, and of a base."""
    found = np.repeat(base, 1 << columns.shape[1], axis=1)
    for stop in range(columns.shape[1]):
        half = 1 << stop
        found[:, half : 2 * half] = found[:, :half] | columns[:, stop, None]
    return found


def chosen_stops(
    cliques: Sequence[int], sizes: Sequence[int], most: int, tables: int
) -> list[list[int]]:
    """For each of so many tables its stops: a large clique, and of the rest the largest needs.

    What one table has left out the next one takes before the others.
    """
    count_of = len(sizes)
    found: list[list[int]] = []
    seen = 0
    for _ in range(tables):
        members = max(cliques, key=lambda c: 2 * c.bit_count() + (c & ~seen).bit_count())
        rank = sorted(
            range(count_of),
            key=lambda i: (not members >> i & 1, seen >> i & 1, -sizes[i]),
        )
        found.append(sorted(rank[:most]))
        seen |= sum(1 << i for i in found[-1])
        if count_of <= most:
            break
    return found
