"""Shortest ways through all of up to 16 stops, for every stop to begin at and every rest to visit.

M. Held and R. M. Karp, A dynamic programming approach to sequencing problems, 1962: the shortest
way from stop j through a set S is the least, over i in S, of the step from j to i and the shortest
way from i through S without i.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_STOPS = 16
FEW_STOPS = 8
VERY_FEW_STOPS = 5
MOST_AT_ONCE = 1 << 20
"""So many sums of a step and a way are taken at once; with a quarter as many plans took a fifth
longer."""

SET_STEPS, LAYER_STEPS = 150, 5_000
"""It is as much work as a node to fill in so many lengths, in plain Python and in numpy."""

FAR = 1 << 30

Steps = Sequence[Sequence[int]]


def table_nodes(stops: int, windows: bool = False) -> int:
    """How many nodes of work a table is."""
    steps = (stops << stops) * (2 * stops if windows else 3)
    return steps // (SET_STEPS if stops <= FEW_STOPS else LAYER_STEPS)


def stops_within(stops: int, nodes: int, windows: bool = False) -> int:
    """How many of some stops a table may have that takes so many nodes of work."""
    most = min(stops, MOST_STOPS)
    while most > FEW_STOPS and table_nodes(most, windows) > nodes:
        most -= 1
    return most


class ShortestWays(Protocol):
    """The lengths of all shortest ways between some stops."""

    def length(self, stop: int, rest: int) -> int:
        """The shortest way from a stop through all of a bit set of other stops."""


def shortest_ways(steps: Steps, last: Sequence[int]) -> ShortestWays:
    """The table for a matrix of steps between stops; `last[j]` is added when a way ends at j.

    Where `last` is `FAR` no way may end; at one stop or more it is not. All steps together are
    shorter than `FAR`. Small tables do without numpy, whose import takes longer than they do.
    """
    few = VERY_FEW_STOPS if "numpy" in sys.modules else FEW_STOPS
    return SetTable.of(steps, last) if len(last) <= few else LayerTable.of(steps, last)


@dataclass(frozen=True, slots=True)
class SetTable:
    """A plain table: for each stop the lengths by the number of the set."""

    rows: Sequence[Sequence[int]]

    def length(self, stop: int, rest: int) -> int:
        """The shortest way from a stop through all of a bit set of other stops."""
        return self.rows[stop][rest]

    @classmethod
    def of(cls, steps: Steps, last: Sequence[int]) -> SetTable:
        """Set by set, each after those that it contains."""
        count = len(last)
        rows = [[length] + [0] * ((1 << count) - 1) for length in last]
        for chosen in range(1, 1 << count):
            members = [i for i in range(count) if chosen >> i & 1]
            ways = [(i, rows[i][chosen ^ 1 << i]) for i in members]
            for j, row in enumerate(rows):
                step = steps[j]
                row[chosen] = min([step[i] + length for i, length in ways])
        return cls(rows)


@dataclass(frozen=True, slots=True)
class LayerTable:
    """A table in numpy: for each size of a set the lengths by stop and by the set's rank."""

    layers: Sequence[memoryview]
    rank: Sequence[int]

    def length(self, stop: int, rest: int) -> int:
        """The shortest way from a stop through all of a bit set of other stops."""
        found: int = self.layers[rest.bit_count()][stop, self.rank[rest]]
        return found

    @classmethod
    def of(cls, steps: Steps, last: Sequence[int]) -> LayerTable:
        """All sets of one size at a time: the inner loop of a whole font's plans.

        A last row of each layer is too far to be chosen; it stands for stops outside the set.
        """
        import numpy as np

        count = len(last)
        number, far = _number(steps, last)
        step = np.array(steps, dtype=number)[:, :, None]
        layer = np.full((count + 1, 1), far, dtype=number)
        layer[:-1, 0] = np.minimum(last, far)
        layers = [layer]
        widest = max((before.size for before in _places(count)), default=0)
        room = np.empty(max(MOST_AT_ONCE, widest), dtype=number)
        for before in _places(count):
            ways = layer.ravel().take(before)
            layer = _layer((count + 1, before.shape[1]), number, far)
            together = room.size // before.size
            for j in range(0, count, together):
                some = step[j : j + together]
                steps_on = room[: len(some) * before.size].reshape(len(some), *before.shape)
                np.add(some, ways, out=steps_on)
                np.minimum.reduce(steps_on, axis=1, out=layer[j : j + len(some)])
            layers.append(_no_farther(layer, far, last))
        return cls([layer.data for layer in layers], _ranks(count))


@dataclass(frozen=True, slots=True)
class WindowTable:
    """As a LayerTable, for steps whose length depends on the stop before the last one too."""

    layers: Sequence[memoryview]
    rank: Sequence[int]

    def length(self, before: int, stop: int, rest: int) -> int:
        """The shortest way from a stop, come to from another, through a bit set of others."""
        found: int = self.layers[rest.bit_count()][before, stop, self.rank[rest]]
        return found

    @classmethod
    def of(cls, steps: Sequence[Steps], last: Sequence[int]) -> WindowTable:
        """`steps[i][j][k]` is the step from j, come to from i, to k."""
        import numpy as np

        count = len(last)
        number, far = _number([[max(row) for row in matrix] for matrix in steps], last)
        step = np.array(steps, dtype=number)[..., None]
        layer = np.full((count, count + 1, 1), far, dtype=number)
        layer[:, :-1, 0] = np.minimum(last, far)
        layers = [layer]
        for places in _places(count):
            before, layer = layer, _layer((count, count + 1, places.shape[1]), number, far)
            for j in range(count):
                ways = before[j].ravel().take(places)
                for i in range(count):
                    (ways + step[i, j]).min(axis=0, out=layer[i, j])
            layers.append(_no_farther(layer, far, last))
        return cls([layer.data for layer in layers], _ranks(count))


def _number(steps: Steps, last: Sequence[int]) -> tuple[type[np.unsignedinteger], int]:
    """The smallest type that holds every length, and a length in it that is too far."""
    import numpy as np

    widest = max(map(max, steps))
    longest = sum(map(max, steps)) + max(length for length in last if length < FAR)
    return next(
        (number, far)
        for number in (np.uint8, np.uint16, np.uint32)
        if longest < (far := int(np.iinfo(number).max) - widest)
    )


def _layer(shape: tuple[int, ...], number: type[np.unsignedinteger], far: int) -> NDArray[Any]:
    """Room for a layer whose last row is far; nothing is written where lengths will be."""
    import numpy as np

    layer = np.empty(shape, dtype=number)
    layer[..., -1, :] = far
    return layer


def _no_farther(layer: NDArray[Any], far: int, last: Sequence[int]) -> NDArray[Any]:
    """The layer, with ways that may not end anywhere as far as they were, not farther."""
    import numpy as np

    return np.minimum(layer, far, out=layer) if max(last) >= FAR else layer


@lru_cache(maxsize=MOST_STOPS)
def _sets(count: int) -> tuple[NDArray[np.intp], ...]:
    """The sets of each size, in the order of their numbers."""
    import numpy as np

    numbers = np.arange(1 << count)
    sizes = sum(numbers >> stop & 1 for stop in range(count))
    return tuple(np.flatnonzero(sizes == size) for size in range(count + 1))


@lru_cache(maxsize=MOST_STOPS)
def _ranks(count: int) -> memoryview:
    """The rank of each set among those of its size."""
    import numpy as np

    ranks = np.zeros(1 << count, dtype=np.intp)
    for chosen in _sets(count):
        ranks[chosen] = np.arange(len(chosen))
    return ranks.data


@lru_cache(maxsize=MOST_STOPS)
def _places(count: int) -> tuple[NDArray[np.intp], ...]:
    """For each size of a set from 1 to count - 1, by stop and rank, a place in the layer before.

    It is where the way from the stop through the others stands, or the layer's last row if the stop
    isn't in the set.
    """
    import numpy as np

    ranks = np.asarray(_ranks(count))
    stops = np.arange(count)[:, None]
    places = []
    width = 1
    for chosen in _sets(count)[1:-1]:
        inside = (chosen >> stops & 1).astype(bool)
        place = stops * width + ranks[chosen & ~(1 << stops)]
        places.append(np.where(inside, place, count * width))
        width = len(chosen)
    return tuple(places)
