"""How many pulses must still come, whatever the passes: a lower bound for every state of a search.

Put the needs that are left in the order in which they are loaded. Between one and the next at least
the actuators on which they are opposed must move. An actuator that the next need speaks of and the
last one leaves open stands where the one before the last wanted it, or further back. So the way
through all needs, counted with a memory of one or two needs, is no longer than what really comes;
the table of the shortest such ways answers at once. At most `MOST_STOPS` needs go into it.

Where few passes load many needs another count says more: every actuator that is wanted in both
positions must move once, and one that is wanted elsewhere than where it stands as well.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

from seqc.solver.passes.held_karp import (
    FAR,
    FEW_STOPS,
    MOST_STOPS,
    ShortestWays,
    WindowTable,
    shortest_ways,
)
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import Ways, apart, complete, in_all, pulses_to, steps_between

MOST_TRIPLES = 64
KEPT_TABLES = 32


class StateBound:
    """The bound for needs of which the first `most` are taken as stops."""

    def __init__(
        self, needs: Sequence[Ways], end: Positions, tight: bool, most: int = MOST_STOPS
    ) -> None:
        """With `tight` no need that opposes the end can be the last one, if there is another."""
        self.needs = needs
        self.end = end
        self.most = most
        self.stops = (1 << min(len(needs), most)) - 1
        stops = needs[:most]
        last = [apart(ways, (end,)) for ways in stops]
        if tight and 0 in last:
            last = [FAR if far else 0 for far in last]
        self.length = _lengths(stops, last)
        self._always = [in_all(ways) for ways in needs]
        self._wanted_by: dict[int, tuple[int, int]] = {}

    def still(self, positions: Positions, loaded: int, left: int) -> int:
        """The pulses that must come for a bit set of needs after one that was just loaded.

        `loaded` is -1 before the first pass.
        """
        if not left:
            return 0
        wanted_rest, wanted_thrown = self._wanted(left)
        both = wanted_rest & wanted_thrown
        once = Positions((wanted_rest | wanted_thrown) & ~both, wanted_thrown & ~both)
        each = both.bit_count() + positions.missing(once).bit_count()
        stops = left & self.stops
        if not stops:
            return each
        before = loaded if loaded < self.most else -1
        return max(each, min(self.through(positions, before, i, stops) for i in bits(stops)))

    def _wanted(self, left: int) -> tuple[int, int]:
        """The actuators that needs must find at rest, and those that they must find thrown.

        One that is wanted in both positions must move at least once, wherever it stands.
        """
        if left not in self._wanted_by:
            rest, thrown = self.end.known & ~self.end.thrown, self.end.thrown
            for i in bits(left):
                always = self._always[i]
                rest |= always.known & ~always.thrown
                thrown |= always.thrown
            self._wanted_by[left] = rest, thrown
        return self._wanted_by[left]

    def through(self, positions: Positions, before: int, first: int, stops: int) -> int:
        """The same if a certain stop is the next; all that is left are stops."""
        there = pulses_to(positions, self.needs[first])
        return there + self.length(before if before >= 0 else first, first, stops ^ 1 << first)


def _lengths(stops: Sequence[Ways], last: Sequence[int]) -> Callable[[int, int, int], int]:
    if len(stops) > FEW_STOPS and not complete(stops):
        return WindowTable.of(_window_steps(stops), last).length
    table = _pair_table(tuple(map(tuple, steps_between(stops))), tuple(last))
    return lambda _, stop, rest: table.length(stop, rest)


@lru_cache(maxsize=KEPT_TABLES)
def _pair_table(steps: tuple[tuple[int, ...], ...], last: tuple[int, ...]) -> ShortestWays:
    """Kept for a while: a programme asks for the same glyph from many positions."""
    return shortest_ways(steps, last)


def _window_steps(needs: Sequence[Ways]) -> list[list[list[int]]]:
    """For needs i, j, k in this order the actuators that must move from j, or from i, to k."""
    pairs = steps_between(needs)
    return [
        [
            [
                pairs[j][k] if i in (j, k) else _window_step(first, second, third, pairs[j][k])
                for k, third in enumerate(needs)
            ]
            for j, second in enumerate(needs)
        ]
        for i, first in enumerate(needs)
    ]


def _window_step(first: Ways, second: Ways, third: Ways, pair: int) -> int:
    if len(first) * len(second) * len(third) > MOST_TRIPLES:
        return pair
    return min(a.then(b).opposed(c).bit_count() for a in first for b in second for c in third)
