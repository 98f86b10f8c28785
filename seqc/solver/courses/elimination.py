"""The least sum of tables: one actuator after the other is taken out of those that speak of it.

R. Dechter, Bucket elimination: a unifying framework for reasoning, 1999. What an actuator adds at
the least depends only on those that it shares a table with, so these tables become one without it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import prod

import numpy as np
from numpy.typing import NDArray

from seqc.solver.courses.table import FAR, Scope, Table, sum_of


def turns(scopes: Iterable[Scope], sizes: Mapping[int, int], most: int) -> list[int] | None:
    """The actuators in the order in which they are taken out, each time the one of least work.

    `sizes` are the lengths of the axes. None where a table would have more than `most` numbers.
    """
    near: dict[int, set[int]] = {index: {index} for index in sizes}
    for scope in scopes:
        for index in scope:
            near[index].update(scope)
    found = []
    while near:
        work = {index: prod(sizes[other] for other in scope) for index, scope in near.items()}
        chosen = min(work, key=work.__getitem__)
        if work[chosen] > most:
            return None
        found.append(chosen)
        others = near.pop(chosen) - {chosen}
        for other in others:
            near[other] = (near[other] | others) - {chosen}
    return found


def least_choice(tables: Iterable[Table], order: Sequence[int]) -> tuple[int, dict[int, int]]:
    """The least sum of tables, and by actuator the place on its axis where that is taken."""
    left = list(tables)
    steps: list[tuple[int, Scope, NDArray[np.uint8]]] = []
    for index in order:
        own = [table for table in left if index in table.scope]
        scope = tuple(sorted({index}.union(*(table.scope for table in own))))
        rest = tuple(other for other in scope if other != index)
        total, axis = sum_of(own, scope), scope.index(index)
        steps.append((index, rest, total.argmin(axis).astype(np.uint8)))
        left = [table for table in left if index not in table.scope]
        left.append(Table(rest, np.minimum(total.min(axis), FAR)))
    least = sum(int(table.pulses) for table in left)
    chosen: dict[int, int] = {}
    for index, rest, best in reversed(steps):
        chosen[index] = int(best[tuple(chosen[other] for other in rest)])
    return least, chosen
