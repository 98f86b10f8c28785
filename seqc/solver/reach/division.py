"""Whether the cells of a block can be told apart by so many parts of each of its actuators.

Each member gets a part of its metering actuator and of each of its selector actuators; two members
at odds must differ in their metering parts or in those of every selector actuator that they are at
odds by. Where all is about one selector part this is colouring with as many colours as there are
pairs of parts; otherwise it is searched for (`seqc.solver.reach.shares`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from operator import or_

from seqc.solver.passes.colouring import ClassSearch, Colouring, EffortError
from seqc.solver.positions import bits
from seqc.solver.reach.contention import Block, renumbered
from seqc.solver.reach.shares import Counts, Share, ShareSearch

MOST_STEPS = 5_000
MOST_VISITS = 3_000_000
WISH_WEIGHT = 5
MOST_STARTS = 16


def fewest_colours(graph: Sequence[int], effort: int = MOST_STEPS) -> Colouring:
    """The vertices of a graph in as few classes without edges as can be, or as the effort finds."""
    everything = (1 << len(graph)) - 1
    if all(mask == everything ^ 1 << vertex for vertex, mask in enumerate(graph)):
        return Colouring(tuple((vertex,) for vertex in range(len(graph))), len(graph))
    search = ClassSearch(graph)
    return search.from_below(_clique_size(graph), effort)


def _clique_size(graph: Sequence[int]) -> int:
    """The size of the largest clique found around the vertices of most edges."""
    starts = sorted(range(len(graph)), key=lambda vertex: -graph[vertex].bit_count())
    return max(1 + _grown(graph, graph[start]) for start in starts[:MOST_STARTS])


def _grown(graph: Sequence[int], left: int) -> int:
    size = 0
    while left:
        chosen = max(bits(left), key=lambda vertex: (graph[vertex] & left).bit_count())
        left &= graph[chosen]
        size += 1
    return size


@dataclass
class Effort:
    """How many visits to members the searches of all blocks together may still make."""

    left: int = MOST_VISITS


@dataclass(frozen=True, eq=False)
class Division:
    """The parts of one block."""

    block: Block
    effort: Effort

    @cached_property
    def colourings(self) -> dict[int, Colouring]:
        """For each selector actuator, its members at odds told apart by as few parts as can be.

        The parts of the metering actuator times those of the selector are no fewer than that.
        """
        block = self.block
        found = {}
        for part in block.disputed:
            for actuator in sorted({own[part] for own in block.moved_by}):
                some = [n for n, own in enumerate(block.moved_by) if own[part] == actuator]
                graph = [renumbered(block.opposed[part][n], some) for n in some]
                found[actuator] = fewest_colours(graph)
        return found

    @cached_property
    def is_plain(self) -> bool:
        """Whether all is about one selector actuator and no kind comes by several routes."""
        return len(self.block.selectors) == 1 and not self.block.wishes

    def may_do(self, counts: Counts) -> bool:
        """Whether so many parts are enough as far as each selector alone can tell."""
        gates = counts.get(self.block.metering, 1)
        return all(
            gates * counts.get(actuator, 1) >= colouring.least
            for actuator, colouring in self.colourings.items()
        )

    def shares(self, counts: Counts, most: int = MOST_STEPS) -> tuple[Share, ...] | None:
        """A share for each member, or None if so many parts are not enough.

        Raises EffortError when that can't be told with about so many shares tried at `most`.
        """
        if not self.may_do(counts):
            return None
        if self.is_plain:
            return self._plain_shares(counts)
        if self.effort.left <= 0:
            raise EffortError
        search = ShareSearch(self.block, counts)
        visits = len(self.block.members) * (1 + WISH_WEIGHT * len(self.block.wishes))
        steps = min(most, 1 + self.effort.left // visits)
        try:
            return search.shares(steps)
        finally:
            self.effort.left -= (steps - search.left) * visits

    def enough(self, counts: Counts) -> tuple[int, tuple[Share, ...]]:
        """A number of gate parts from that of `counts` on with which shares are soon found."""
        if self.block.wishes:
            return self.most(self.block.metering), self._told_apart
        for gates in range(counts.get(self.block.metering, 1), self.most(self.block.metering)):
            more = {**counts, self.block.metering: gates}
            try:
                if self.is_plain or not self.may_do(more):
                    found = self.shares(more)
                else:
                    found = ShareSearch(self.block, more).shares(2 * len(self.block.members))
            except EffortError:
                continue
            if found is not None:
                return gates, found
        return self.most(self.block.metering), self._told_apart

    @property
    def _told_apart(self) -> tuple[Share, ...]:
        """Shares with which no selector need be split."""
        rest = (0,) * len(self.block.opposed)
        if self.block.wishes:
            return tuple((number, *rest) for number in range(len(self.block.members)))
        gate_of = {
            member: number
            for number, members in enumerate(self._without_selectors.classes)
            for member in members
        }
        return tuple((gate_of[member], *rest) for member in range(len(self.block.members)))

    def most(self, actuator: int) -> int:
        """So many parts of an actuator that more wouldn't help."""
        block = self.block
        if block.wishes:
            return len(block.members)
        if actuator != block.metering:
            return len(self.colourings[actuator].classes)
        return len(self._without_selectors.classes)

    @cached_property
    def _without_selectors(self) -> Colouring:
        """The members told apart by their metering parts alone."""
        graph = [reduce(or_, masks) for masks in zip(*self.block.opposed, strict=True)]
        return fewest_colours(graph)

    def _plain_shares(self, counts: Counts) -> tuple[Share, ...]:
        (selector,) = self.block.selectors
        (part,) = self.block.disputed
        classes = self.colourings[selector].classes
        gates = counts.get(self.block.metering, 1)
        if gates * counts.get(selector, 1) < len(classes):
            raise EffortError
        shares = [[0] * (1 + len(self.block.opposed)) for _ in self.block.members]
        for number, members in enumerate(classes):
            for member in members:
                shares[member][1 + part], shares[member][0] = divmod(number, gates)
        return tuple(map(tuple, shares))
