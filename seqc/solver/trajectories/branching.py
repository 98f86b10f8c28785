"""In which order actuators get their trajectories."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import reduce
from operator import or_

from seqc.solver.positions import bits
from seqc.solver.ways import Ways, actuators_in


def branching_order(needs: Iterable[Ways]) -> list[int]:
    """Actuators until no need has two left.

    Each time it is the one in most needs that have; a need with fewer left counts for more, twice
    as much for each actuator less.
    """
    left = [actuators_in(ways) for ways in needs]
    found = []
    while several := [mask for mask in left if mask.bit_count() > 1]:
        weights: dict[int, float] = {}
        for mask in several:
            for index in bits(mask):
                weights[index] = weights.get(index, 0) + 0.5 ** mask.bit_count()
        chosen = max(weights, key=weights.__getitem__)
        found.append(chosen)
        left = [mask & ~(1 << chosen) for mask in left]
    return found


def beside(needs: Sequence[Ways], turns: Sequence[int]) -> list[list[int]]:
    """For each turn the actuators without one yet of which any of the same needs speaks."""
    spoken_of = [actuators_in(ways) for ways in needs]
    found, left = [], -1
    for index in turns:
        left &= ~(1 << index)
        together = reduce(or_, (mask for mask in spoken_of if mask >> index & 1))
        found.append(list(bits(together & left)))
    return found
