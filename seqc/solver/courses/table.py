"""Pulses by the courses of several actuators, an axis each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import and_, or_
from typing import Any

import numpy as np
from numpy.typing import NDArray

from seqc.solver.courses.course import Courses
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import Ways, actuators_in

FAR = 1 << 20
"""What can't be takes so many pulses, or some times that."""

Scope = tuple[int, ...]
"""Actuators by index, lowest first."""

Array = NDArray[np.int32]
Truths = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Table:
    """The fewest pulses for each choice of courses of the actuators in its scope."""

    scope: Scope
    pulses: Array


def sum_of(tables: Sequence[Table], scope: Scope) -> Array:
    """The sum of tables whose scopes lie within one."""
    found = np.zeros((1,) * len(scope), np.int32)
    for table in tables:
        found = found + _along(table.pulses, table.scope, scope)
    return found


def table_of(ways: Ways, passes: int, courses: Mapping[int, Courses]) -> Table:
    """Nothing where some pass fulfils a need, and far where none does."""
    scope = tuple(bits(actuators_in(ways)))
    fulfilled = reduce(
        or_, (_holds(way, number, scope, courses) for way in ways for number in range(passes))
    )
    shape = tuple(len(courses[index]) for index in scope)
    return Table(scope, np.where(np.broadcast_to(fulfilled, shape), 0, FAR).astype(np.int32))


def _holds(way: Positions, number: int, scope: Scope, courses: Mapping[int, Courses]) -> Truths:
    """Whether a way holds in one pass."""
    return reduce(
        and_,
        (
            _along(courses[index].at(number, at), (index,), scope)
            for index in bits(way.known)
            if (at := way.of(index)) is not None
        ),
    )


def _along(values: NDArray[Any], own: Scope, scope: Scope) -> NDArray[Any]:
    """Values with an axis for every actuator of a larger scope."""
    sizes = dict(zip(own, values.shape, strict=True))
    return values.reshape([sizes.get(index, 1) for index in scope])
