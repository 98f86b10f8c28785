"""Cuts the loading of one grid down to the parts whose passes really have to be sought.

Equal needs count once. An actuator that every need wants in the same position is set once whatever
the order, so it leaves the needs (a pure literal). A need that another one implies goes along with
it. What is left falls into components that share no actuator: they share the passes but no pulse.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from seqc.solver.passes.colouring import Colouring, fewest_classes, opposed
from seqc.solver.positions import Positions
from seqc.solver.ways import ALWAYS, Ways, actuators_in, complete, implied, without


@dataclass(frozen=True)
class Component:
    """Needs that hang together, and the positions before the first and after the last pass."""

    needs: tuple[Ways, ...]
    start: Positions
    end: Positions

    @cached_property
    def complete(self) -> bool:
        """Whether each need has one way, and all speak of the same actuators."""
        return complete(self.needs)

    @cached_property
    def colouring(self) -> Colouring:
        """The fewest passes for these needs alone."""
        if self.complete:
            count = len(self.needs)
            return Colouring(tuple((number,) for number in range(count)), count)
        return fewest_classes(self.needs)

    @cached_property
    def graph(self) -> tuple[int, ...]:
        """For each need the bit set of those opposed to it."""
        return opposed(self.needs)

    @cached_property
    def all_opposed(self) -> bool:
        """Whether no two needs can share a pass."""
        count = len(self.needs)
        return self.complete or all(mask.bit_count() == count - 1 for mask in self.graph)


@dataclass(frozen=True, slots=True)
class Reduced:
    """Components, the positions that are settled in any case, and the pulses that those take."""

    components: tuple[Component, ...]
    pure: Positions
    pure_pulses: int


def whole(needs: Iterable[Ways], start: Positions, end: Positions) -> Component:
    """All needs as one component, with nothing taken out but what others imply."""
    return Component(tuple(_hardest(list(dict.fromkeys(needs)))), start, end)


def reduced(needs: Iterable[Ways], start: Positions, end: Positions) -> Reduced:
    """What is left to be sought of the needs of all groups of a grid."""
    distinct = list(dict.fromkeys(needs))
    pure = _pure(distinct, start, end)
    bare = (without(ways, pure.known) for ways in distinct)
    hard = _hardest([ways for ways in dict.fromkeys(bare) if ways != ALWAYS])
    pulses = start.missing(pure).bit_count()
    closing = end.within(~pure.known)
    components = []
    for mask, members in _clusters(hard):
        components.append(Component(tuple(members), start.within(mask), end.within(mask)))
        closing = closing.within(~mask)
    return Reduced(tuple(components), pure, pulses + start.missing(closing).bit_count())


def _pure(needs: Sequence[Ways], start: Positions, end: Positions) -> Positions:
    """Positions that no need opposes.

    They can be left out where they hold from the start, or where all needs have one way only: then
    each takes one pulse or none, in any order.
    """
    thrown = end.thrown
    rest = end.known & ~end.thrown
    needed = 0
    for ways in needs:
        for way in ways:
            thrown |= way.thrown
            rest |= way.known & ~way.thrown
            needed |= way.known
    pure = Positions((thrown ^ rest) & needed, thrown & ~rest & needed)
    if all(len(ways) == 1 for ways in needs):
        return pure
    return pure.within(~start.missing(pure))


def _hardest(needs: list[Ways]) -> list[Ways]:
    """The needs that no other one implies."""
    if complete(needs):
        return needs
    kept = list(needs)
    for need in needs:
        if any(other is not need and implied(need, other) for other in kept):
            kept.remove(need)
    return kept


def _clusters(needs: Sequence[Ways]) -> list[tuple[int, list[Ways]]]:
    """The needs in sets that share no actuator, each with its actuators."""
    if needs and complete(needs):
        return [(needs[0][0].known, list(needs))]
    clusters: list[tuple[int, list[Ways]]] = []
    for need in needs:
        mask, members = actuators_in(need), [need]
        for other in [cluster for cluster in clusters if cluster[0] & mask]:
            clusters.remove(other)
            mask, members = mask | other[0], other[1] + members
        clusters.append((mask, members))
    return clusters
