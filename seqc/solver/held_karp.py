"""Shortest ways through all of up to 16 stops, for every stop to begin at and every rest to visit.

M. Held and R. M. Karp, A dynamic programming approach to sequencing problems, 1962: the shortest
way from stop j through a set S is the least, over i in S, of the step from j to i and the shortest
way from i through S without i.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_STOPS = 16
FEW_STOPS = 8
FAR = 1 << 30

Rows = Sequence[Sequence[int]]
"""`rows[j][S]`: the length of the shortest way from stop j through the bit set S."""


def shortest_ways(steps: Sequence[Sequence[int]], last: Sequence[int]) -> Rows:
    """The table for a matrix of steps between stops; `last[j]` is added when a way ends at j.

    Where `last` is `FAR` no way may end; at one stop or more it is not. All steps together are
    shorter than `FAR`.
    """
    few = len(last) <= FEW_STOPS
    return _by_sets(steps, last) if few else _by_layers(steps, last)


def _by_sets(steps: Sequence[Sequence[int]], last: Sequence[int]) -> Rows:
    count = len(last)
    rows = [[length] + [0] * ((1 << count) - 1) for length in last]
    members: list[list[tuple[int, int]]] = [[]]
    for chosen in range(1, 1 << count):
        low = chosen & -chosen
        members.append([*members[chosen ^ low], (low.bit_length() - 1, chosen ^ low)])
        ways = [(i, rows[i][chosen ^ 1 << i]) for i, _ in members[chosen]]
        for j, row in enumerate(rows):
            step = steps[j]
            row[chosen] = min(step[i] + length for i, length in ways)
    return rows


def _by_layers(steps: Sequence[Sequence[int]], last: Sequence[int]) -> Rows:
    """All sets of one size at a time, in numpy: the inner loop of a whole font's plans."""
    import numpy as np

    count = len(last)
    widest = max(map(max, steps))
    longest = sum(map(max, steps)) + max(length for length in last if length < FAR)
    number, far = next(
        (number, top)
        for number in (np.uint8, np.uint16, np.uint32)
        if longest < (top := int(np.iinfo(number).max) - widest)
    )
    step = np.array(steps, dtype=number)
    table = np.zeros((count, 1 << count), dtype=number)
    table[:, 0] = np.minimum(last, far)
    for chosen, before, outside in _layers(count):
        ways = table.ravel()[before]
        ways[outside] = far
        for j in range(count):
            table[j, chosen] = np.minimum((ways + step[j][:, None]).min(axis=0), far)
    return [row.data for row in table]


@lru_cache(maxsize=MOST_STOPS)
def _layers(
    count: int,
) -> tuple[tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.bool_]], ...]:
    """The sets of each size, with places in the table.

    They are the places of the way from each member through the others; then which are no members.
    """
    import numpy as np

    stops = np.arange(count)[:, None]
    layers = []
    for size in range(1, count + 1):
        sets = [sum(1 << i for i in some) for some in itertools.combinations(range(count), size)]
        chosen = np.array(sorted(sets), dtype=np.intp)
        inside = chosen >> stops & 1
        before = (stops << count) + (chosen & ~(1 << stops))
        layers.append((chosen, before, inside == 0))
    return tuple(layers)
