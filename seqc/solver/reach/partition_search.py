"""A part of the gate and of each selector for every vertex of a component.

Depth first on a stack, the vertex with the fewest choices left next (D. Brelaz, New methods to
color the vertices of a graph, 1979); of parts that nothing is in yet only the first is tried.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

from seqc.solver.passes.colouring import EffortError
from seqc.solver.positions import bits
from seqc.solver.reach.conflict_graph import Component

MOST_CHOICES = 20_000

Counts = Mapping[int, int]
"""How many parts an actuator is to be in; one where nothing is said."""

Parts = tuple[int, ...]
"""The number of a vertex's part of its gate's actuator and of that of each selector part."""


@dataclass
class _Step:
    """A vertex that is placed: the choices not yet tried, and what was open before."""

    vertex: int
    untried: list[int]
    open_before: list[int]
    used_before: dict[int, int]


class PartitionSearch:
    """Places the vertices of one component; choices are numbered, and sets of them bit sets."""

    def __init__(self, component: Component, counts: Counts) -> None:
        self.component = component
        self.counts = counts
        self.left = 0
        sizes = [counts.get(component.gate, 1)]
        for part in range(len(component.conflicts)):
            own = {moved[part] for moved in component.selectors} if part in component.parts else ()
            sizes.append(max((counts.get(actuator, 1) for actuator in own), default=1))
        if prod(sizes) > MOST_CHOICES:
            raise EffortError
        self._choices = list(product(*map(range, sizes)))
        self._having = [[0] * size for size in sizes]
        for number, parts in enumerate(self._choices):
            for axis, at in enumerate(parts):
                self._having[axis][at] |= 1 << number
        self._degrees = [
            sum(masks[vertex].bit_count() for masks in component.conflicts)
            for vertex in range(len(component.vertices))
        ]

    def parts(self, most: int) -> tuple[Parts, ...] | None:
        """The parts of each vertex or None; raises EffortError after so many were tried."""
        self.left = most
        open_to = [self._open_at_first(moved) for moved in self.component.selectors]
        used: dict[int, int] = {}
        given: dict[int, Parts] = {}
        steps: list[_Step] = []
        while len(given) < len(open_to):
            vertex = self._tightest(open_to, given)
            step = _Step(vertex, self._untried(vertex, open_to[vertex], used), open_to, used)
            while not self._place(step, given):
                if not steps:
                    return None
                step = steps.pop()
            steps.append(step)
            used = self._used(step, given[step.vertex])
            open_to = self._narrowed(step, given[step.vertex])
        return tuple(given[vertex] for vertex in range(len(open_to)))

    def _open_at_first(self, selectors: Sequence[int]) -> int:
        found = (1 << len(self._choices)) - 1
        for part, actuator in enumerate(selectors, 1):
            found &= sum(self._having[part][: self.counts.get(actuator, 1)])
        return found

    def _tightest(self, open_to: Sequence[int], given: Mapping[int, Parts]) -> int:
        left = (vertex for vertex in range(len(open_to)) if vertex not in given)
        return min(left, key=lambda vertex: (open_to[vertex].bit_count(), -self._degrees[vertex]))

    def _untried(self, vertex: int, open_to: int, used: Mapping[int, int]) -> list[int]:
        """The open choices, last first, with no more than the first of the empty parts."""
        limits = [used.get(actuator, 0) for actuator in self._actuators(vertex)]
        return [
            number
            for number in reversed(list(bits(open_to)))
            if all(a <= b for a, b in zip(self._choices[number], limits, strict=True))
        ]

    def _actuators(self, vertex: int) -> tuple[int, ...]:
        return (self.component.gate, *self.component.selectors[vertex])

    def _place(self, step: _Step, given: dict[int, Parts]) -> bool:
        """Give the vertex the next choice; False if there is none."""
        if not step.untried:
            given.pop(step.vertex, None)
            return False
        self.left -= 1
        if self.left < 0:
            raise EffortError
        given[step.vertex] = self._choices[step.untried.pop()]
        return True

    def _used(self, step: _Step, parts: Parts) -> dict[int, int]:
        """How many parts of each actuator are in use."""
        used = dict(step.used_before)
        for actuator, at in zip(self._actuators(step.vertex), parts, strict=True):
            used[actuator] = max(used.get(actuator, 0), at + 1)
        return used

    def _narrowed(self, step: _Step, parts: Parts) -> list[int]:
        """What is open to each vertex after one was placed."""
        open_to = list(step.open_before)
        for part, masks in enumerate(self.component.conflicts, 1):
            barred = self._having[0][parts[0]] & self._having[part][parts[part]]
            for other in bits(masks[step.vertex]):
                open_to[other] &= ~barred
        return open_to
