"""The positions that fulfil the most of several conditions, each of which has a weight.

Actuators are eliminated one by one, each after the tables that speak of it have been added up
(bucket elimination; R. Dechter, Bucket elimination: a unifying framework for reasoning, 1999).
Where the tables of one actuator speak of too many others they are eliminated in several smaller
sums, which makes the answer a lower bound (mini-buckets; R. Dechter and I. Rish, 2003).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seqc.solver.positions import Positions, bits
from seqc.solver.ways import Ways, actuators_in

if TYPE_CHECKING:
    from numpy import int64
    from numpy.typing import NDArray

MOST_LISTED = 4
MOST_WIDTH = 18


@dataclass(frozen=True, slots=True)
class Compromise:
    """Positions, the weight of the conditions that they break, and a lower bound of it."""

    positions: Positions
    broken: int
    lower_bound: int


def best_compromise(conditions: Mapping[Ways, int], width: int = MOST_WIDTH) -> Compromise:
    """The positions that break the least weight of `conditions`, each given with its weight.

    Exact as long as no sum of tables speaks of more than `width` actuators.
    """
    known = thrown = broken = least = 0
    for mask, cluster in _clusters(conditions):
        if mask.bit_count() <= MOST_LISTED:
            found, weight = _by_list(mask, cluster)
            bound = weight
        else:
            bound, found = _by_elimination(mask, cluster, width)
            weight = _broken(found, cluster)
        known, thrown = known | mask, thrown | found
        broken, least = broken + weight, least + bound
    return Compromise(Positions(known, thrown), broken, least)


_Cluster = list[tuple[Ways, int]]


def _clusters(conditions: Mapping[Ways, int]) -> Iterable[tuple[int, _Cluster]]:
    """The conditions in sets that have no actuator in common, with the actuators of each set."""
    clusters: list[tuple[int, _Cluster]] = []
    for ways, weight in conditions.items():
        mask, members = actuators_in(ways), [(ways, weight)]
        for other in [cluster for cluster in clusters if cluster[0] & mask]:
            clusters.remove(other)
            mask, members = mask | other[0], other[1] + members
        clusters.append((mask, members))
    return clusters


def _broken(thrown: int, cluster: _Cluster) -> int:
    return sum(weight for ways, weight in cluster if not _fulfilled(ways, thrown))


def _fulfilled(ways: Ways, thrown: int) -> bool:
    return any(thrown & way.known == way.thrown for way in ways)


def _by_list(mask: int, cluster: _Cluster) -> tuple[int, int]:
    """The best of all positions of a few actuators, and the weight that it breaks."""
    best, least = 0, _broken(0, cluster)
    thrown = mask
    while thrown and least:
        weight = _broken(thrown, cluster)
        if weight < least:
            best, least = thrown, weight
        thrown = (thrown - 1) & mask
    return best, least


@dataclass(frozen=True)
class _Table:
    """The weight broken under each position of the actuators in `scope`, an axis for each."""

    scope: tuple[int, ...]
    weights: NDArray[int64]

    def at(self, thrown: int, free: int) -> list[int]:
        """The weights with one actuator at rest and thrown, the others being as given."""
        index = tuple(slice(None) if a == free else thrown >> a & 1 for a in self.scope)
        pair: list[int] = self.weights[index].tolist()
        return pair


def _by_elimination(mask: int, cluster: _Cluster, width: int) -> tuple[int, int]:
    """A lower bound of the weight broken, and the actuators to throw."""
    tables = [_table(ways, weight) for ways, weight in cluster]
    eliminated: list[tuple[int, list[_Table]]] = []
    left = list(bits(mask))
    while left:
        actuator = min(left, key=lambda a: len(_scope(t for t in tables if a in t.scope)))
        left.remove(actuator)
        sums = _sums([table for table in tables if actuator in table.scope], width)
        tables = [table for table in tables if actuator not in table.scope]
        tables += [_without(actuator, table) for table in sums]
        eliminated.append((actuator, sums))
    thrown = 0
    for actuator, sums in reversed(eliminated):
        sides = [table.at(thrown, actuator) for table in sums]
        thrown |= (sum(side[1] for side in sides) < sum(side[0] for side in sides)) << actuator
    return sum(int(table.weights.item()) for table in tables), thrown


def _table(ways: Ways, weight: int) -> _Table:
    import numpy as np

    scope = tuple(bits(actuators_in(ways)))
    weights = np.full((2,) * len(scope), weight, dtype=np.int64)
    for way in ways:
        weights[tuple(_slot(way, actuator) for actuator in scope)] = 0
    return _Table(scope, weights)


def _slot(way: Positions, actuator: int) -> int | slice:
    return way.thrown >> actuator & 1 if way.known >> actuator & 1 else slice(None)


def _scope(tables: Iterable[_Table]) -> tuple[int, ...]:
    return tuple(sorted({actuator for table in tables for actuator in table.scope}))


def _sums(tables: Sequence[_Table], width: int) -> list[_Table]:
    """The tables added up in as few sums as the width allows, the widest tables first."""
    bundles: list[list[_Table]] = []
    for table in sorted(tables, key=lambda table: -len(table.scope)):
        for bundle in bundles:
            if len(_scope([*bundle, table])) <= width:
                bundle.append(table)
                break
        else:
            bundles.append([table])
    return [_sum(bundle) for bundle in bundles]


def _sum(tables: Sequence[_Table]) -> _Table:
    scope = _scope(tables)
    shapes = [[2 if actuator in table.scope else 1 for actuator in scope] for table in tables]
    weights = tables[0].weights.reshape(shapes[0])
    for table, shape in zip(tables[1:], shapes[1:], strict=True):
        weights = weights + table.weights.reshape(shape)
    return _Table(scope, weights)


def _without(actuator: int, table: _Table) -> _Table:
    axis = table.scope.index(actuator)
    rest = table.scope[:axis] + table.scope[axis + 1 :]
    return _Table(rest, table.weights.min(axis=axis))
