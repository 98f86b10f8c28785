"""Whether several conditions can all hold at one time.

A way that is the only one left of a condition is taken; then the condition with the fewest ways
left is tried way by way, depth first on a stack. Conditions that have no actuator in common are
looked at apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations
from math import comb

from seqc.solver.positions import Positions
from seqc.solver.ways import Ways, actuators_in

MOST_SETS = 5_000


def can_all_hold(conditions: Iterable[Ways]) -> bool:
    """Whether some positions fulfil every condition."""
    distinct = list(dict.fromkeys(conditions))
    return all(distinct) and all(_can_hold(cluster) for cluster in _clusters(distinct))


def contradiction(wanted: Mapping[int, Ways], sets: int = MOST_SETS) -> tuple[int, ...]:
    """Of cells whose wishes can't all hold a set that contradicts itself, and none of its parts.

    It is the smallest one, and of several the first in order of cells, unless there are more than
    so many `sets` of its size to look at.
    """
    first: dict[Ways, int] = {}
    for cell, ways in wanted.items():
        first.setdefault(ways, cell)
    size = 1
    while comb(len(first), size) <= sets:
        for some in combinations(first, size):
            if not can_all_hold(some):
                return tuple(first[ways] for ways in some)
        size += 1
    kept = list(first)
    for ways in first:
        others = [other for other in kept if other != ways]
        if not can_all_hold(others):
            kept = others
    return tuple(first[ways] for ways in kept)


def _clusters(conditions: Sequence[Ways]) -> list[list[Ways]]:
    """The conditions in sets that have no actuator in common."""
    clusters: list[tuple[int, list[Ways]]] = []
    for ways in conditions:
        mask, members = actuators_in(ways), [ways]
        for other in [cluster for cluster in clusters if cluster[0] & mask]:
            clusters.remove(other)
            mask, members = mask | other[0], other[1] + members
        clusters.append((mask, members))
    return [members for _, members in clusters]


def _can_hold(conditions: Sequence[Ways]) -> bool:
    waiting: list[tuple[Positions, Sequence[Ways]]] = [(Positions(), conditions)]
    while waiting:
        settled = _settled(*waiting.pop())
        if settled is None:
            continue
        held, left = settled
        if not left:
            return True
        tried = min(left, key=len)
        waiting += [(held.then(way), left) for way in reversed(tried)]
    return False


def _settled(held: Positions, conditions: Sequence[Ways]) -> tuple[Positions, list[Ways]] | None:
    """The positions with what they force, and the conditions still open; None if one is lost."""
    left = list(conditions)
    while True:
        before = held
        still = []
        for ways in left:
            possible = tuple(way for way in ways if way.meet(held))
            if not possible:
                return None
            if len(possible) == 1:
                held = held.then(possible[0])
            elif all(held.missing(way) for way in possible):
                still.append(possible)
        left = still
        if held == before:
            return held, left
