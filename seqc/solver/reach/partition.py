"""Whether splitting actuators in so many parts each is enough for one component.

Each vertex goes to a part of its gate's actuator and of each of its selectors'; two that conflict
must differ in the gate's part or in those of every selector that they conflict by. With one
selector actuator that is a colouring with as many colours as there are pairs of parts; otherwise
it is searched for (`seqc.solver.reach.partition_search`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from seqc.solver.passes.colouring import ClassSearch, Colouring, EffortError
from seqc.solver.positions import bits
from seqc.solver.reach.conflict_graph import Component, renumbered
from seqc.solver.reach.partition_search import Counts, PartitionSearch, Parts

MOST_STEPS = 5_000
MOST_VISITS = 3_000_000
MOST_STARTS = 16


def fewest_colours(graph: Sequence[int]) -> Colouring:
    """The vertices of a graph, mostly a dense one, in the fewest classes without an edge.

    The search for the fewest starts from the size of a clique around the vertices of most edges.
    """
    starts = sorted(range(len(graph)), key=lambda vertex: -graph[vertex].bit_count())
    least = 1
    for start in starts[:MOST_STARTS]:
        size, left = 1, graph[start]
        while left:
            chosen = max(bits(left), key=lambda vertex: (graph[vertex] & left).bit_count())
            size, left = size + 1, left & graph[chosen]
        least = max(least, size)
    return ClassSearch(graph).from_below(least, MOST_STEPS)


@dataclass
class Effort:
    """How many visits to vertices the searches of all components together may still make."""

    left: int = MOST_VISITS


@dataclass(frozen=True, eq=False)
class Partition:
    """The splits of the actuators of one component."""

    component: Component
    effort: Effort

    @cached_property
    def colourings(self) -> dict[int, Colouring]:
        """For each selector actuator its vertices in the fewest classes without a conflict by it.

        The parts of the gate times those of the selector are no fewer than that.
        """
        own = self.component
        found = {}
        for part in own.parts:
            for actuator in sorted({moved[part] for moved in own.selectors}):
                some = [n for n, moved in enumerate(own.selectors) if moved[part] == actuator]
                graph = [renumbered(own.conflicts[part][n], some) for n in some]
                found[actuator] = fewest_colours(graph)
        return found

    @cached_property
    def by_gate(self) -> Colouring:
        """The vertices in the fewest classes without any conflict."""
        return fewest_colours(self.component.graph)

    def most(self, actuator: int) -> int:
        """So many parts of an actuator that more wouldn't help."""
        known = self.by_gate if actuator == self.component.gate else self.colourings[actuator]
        return len(known.classes)

    def may_do(self, counts: Counts) -> bool:
        """Whether so many parts are enough as far as each selector alone can tell."""
        gates = counts.get(self.component.gate, 1)
        return all(
            gates * counts.get(actuator, 1) >= colouring.lower_bound
            for actuator, colouring in self.colourings.items()
        )

    def parts(self, counts: Counts, most: int = MOST_STEPS) -> tuple[Parts, ...] | None:
        """The parts of each vertex, or None if so many are not enough.

        Raises EffortError when that can't be told with about so many steps at `most`.
        """
        if not self.may_do(counts):
            return None
        if len(self.colourings) == 1:
            return self._by_colouring(counts)
        if self.effort.left <= 0:
            raise EffortError
        visits = len(self.component.vertices)
        steps = min(most, 1 + self.effort.left // visits)
        search = PartitionSearch(self.component, counts)
        try:
            return search.parts(steps)
        finally:
            self.effort.left -= (steps - search.left) * visits

    def _by_colouring(self, counts: Counts) -> tuple[Parts, ...]:
        """Where one selector is all: a class is a pair of parts."""
        ((selector, colouring),) = self.colourings.items()
        (part,) = self.component.parts
        gates = counts.get(self.component.gate, 1)
        if gates * counts.get(selector, 1) < len(colouring.classes):
            raise EffortError
        parts = [[0] * (1 + len(self.component.conflicts)) for _ in self.component.vertices]
        for number, members in enumerate(colouring.classes):
            for vertex in members:
                parts[vertex][1 + part], parts[vertex][0] = divmod(number, gates)
        return tuple(map(tuple, parts))

    def enough(self, counts: Counts) -> tuple[int, tuple[Parts, ...]]:
        """A number of gate parts from that of `counts` on with which parts are soon found."""
        gate = self.component.gate
        for gates in range(counts.get(gate, 1), self.most(gate)):
            found = self._soon({**counts, gate: gates})
            if found is not None:
                return gates, found
        rest = (0,) * len(self.component.conflicts)
        gate_of = {v: n for n, members in enumerate(self.by_gate.classes) for v in members}
        return self.most(gate), tuple((gate_of[v], *rest) for v in sorted(gate_of))

    def _soon(self, counts: Counts) -> tuple[Parts, ...] | None:
        """The parts of each vertex where they are found without much search."""
        try:
            if not self.may_do(counts):
                return None
            if len(self.colourings) == 1:
                return self._by_colouring(counts)
            return PartitionSearch(self.component, counts).parts(2 * len(self.component.vertices))
        except EffortError:
            return None
