"""The fewest passes: needs that agree share one, needs that oppose each other can't.

With one way for each need this is the chromatic number of the graph of opposed needs; with several
ways a class must also have one common choice. A clique of opposed needs gives the lower bound.
Between the two the question "do k passes do?" is decided by a search that always takes the need
with the fewest classes left (D. Brelaz, New methods to color the vertices of a graph, 1979).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from seqc.solver.positions import bits
from seqc.solver.ways import Conditions, Ways, agree, both, can_meet

MOST_NODES = 20_000
KEPT_SETS = 10_000

Classes = tuple[tuple[int, ...], ...]
"""Needs that share a pass, by their numbers."""


class EffortError(Exception):
    """The search has used up its effort; no answer is less than `lower_bound`."""

    def __init__(self, lower_bound: int = 0) -> None:
        super().__init__("the search has used up its effort")
        self.lower_bound = lower_bound


@dataclass(frozen=True, slots=True)
class Colouring:
    """Classes of needs; no fewer than `lower_bound` can be enough."""

    classes: Classes
    lower_bound: int


def opposed(needs: Sequence[Ways]) -> tuple[int, ...]:
    """For each need the bit set of those that can't share a pass with it."""
    masks = [0] * len(needs)
    for i, need in enumerate(needs):
        for j in range(i):
            if not agree(need, needs[j]):
                masks[i] |= 1 << j
                masks[j] |= 1 << i
    return tuple(masks)


def opposed_conditions(needs: Sequence[Conditions]) -> tuple[int, ...]:
    """The same of needs for which several conditions must hold."""
    return tuple(
        sum(1 << place for place, other in enumerate(needs) if not can_meet(need, other))
        for need in needs
    )


def clique(graph: Sequence[int], among: int) -> int:
    """A set of pairwise opposed needs among some: the largest that a greedy search finds."""
    best = 0
    for start in bits(among):
        found, left = 1 << start, graph[start] & among
        while left:
            chosen = max(bits(left), key=lambda v: ((graph[v] & left).bit_count(), -v))
            found |= 1 << chosen
            left &= graph[chosen]
        if found.bit_count() > best.bit_count():
            best = found
    return best


def fewest_classes(needs: Sequence[Ways], effort: int = MOST_NODES) -> Colouring:
    """The needs in as few classes as can be, or as few as the effort finds."""
    return class_search(needs, opposed(needs)).fewest(effort)


def class_search(needs: Sequence[Ways], graph: Sequence[int]) -> ClassSearch:
    """The search for needs that are opposed as the graph says."""
    if all(len(ways) == 1 for ways in needs):
        return ClassSearch(graph)

    @lru_cache(maxsize=KEPT_SETS)
    def wanted(members: int) -> Ways:
        last = members.bit_length() - 1
        rest = members ^ 1 << last
        return both(wanted(rest), needs[last]) if rest else needs[last]

    return ClassSearch(graph, lambda members: bool(wanted(members)))


@dataclass
class _Class:
    members: int = 0
    blocked: int = 0


@dataclass
class _Choice:
    """A need that is being placed: the classes not yet tried, and what the chosen one was."""

    need: int
    untried: list[int]
    number: int = -1
    before: _Class = field(default_factory=_Class)


class ClassSearch:
    """Decides whether needs fit into so many classes."""

    def __init__(self, graph: Sequence[int], agree: Callable[[int], bool] | None = None) -> None:
        """By each need those that it can't share a pass with, and whether a set of needs can.

        Without the latter all can of which any two can.
        """
        self.graph = graph
        self._agree = agree

    def fewest(self, effort: int) -> Colouring:
        """All needs in as few classes as can be, or as few as the effort finds."""
        if not self.graph:
            return Colouring((), 0)
        everything = (1 << len(self.graph)) - 1
        found = self.from_below(clique(self.graph, everything).bit_count(), effort)
        best = found.classes
        try:
            while len(best) > found.lower_bound:
                fewer = self.classes(everything, len(best) - 1, effort)
                if fewer is None:
                    break
                best = fewer
        except EffortError:
            pass
        return Colouring(best, found.lower_bound)

    def from_below(self, lower_bound: int, effort: int) -> Colouring:
        """All needs in as few classes as a rising count finds within the effort.

        Where the effort ends before that, the classes are those of a greedy search.
        """
        count = len(self.graph)
        everything = (1 << count) - 1
        best = self.classes(everything, count, count + 1)
        assert best is not None
        try:
            while lower_bound < len(best):
                found = self.classes(everything, lower_bound, effort)
                if found is not None:
                    return Colouring(found, lower_bound)
                lower_bound += 1
        except EffortError:
            pass
        return Colouring(best, lower_bound)

    def classes(self, among: int, count: int, effort: int) -> Classes | None:
        """Classes for the needs among some, or None if `count` are not enough.

        Raises EffortError after `effort` placements.
        """
        classes = [_Class() for _ in range(count)]
        left = among
        placed: list[_Choice] = []
        while left:
            need = self._tightest(classes, left)
            choice = _Choice(need, self._open_classes(classes, need) if need >= 0 else [])
            while not self._place(choice, classes):
                if not placed:
                    return None
                choice = placed.pop()
                left |= 1 << choice.need
                classes[choice.number] = choice.before
            placed.append(choice)
            left &= ~(1 << choice.need)
            effort -= 1
            if effort < 0:
                raise EffortError
        return tuple(tuple(bits(each.members)) for each in classes if each.members)

    def _tightest(self, classes: Sequence[_Class], left: int) -> int:
        """The need with the most classes closed to it, or -1 if one has none left.

        Counts of all needs are held at once in `planes`, the binary digits of the counts; among
        equals the need opposed to the most others that are left is taken.
        """
        planes: list[int] = []
        closed = left
        for each in classes:
            closed &= each.blocked
            carry = each.blocked & left
            for digit, plane in enumerate(planes):
                planes[digit], carry = plane ^ carry, plane & carry
            if carry:
                planes.append(carry)
        if closed:
            return -1
        for plane in reversed(planes):
            if left & plane:
                left &= plane
        return self._busiest(left)

    def _busiest(self, left: int) -> int:
        best = rank = -1
        for need in bits(left):
            count = self.graph[need].bit_count()
            if count > rank:
                best, rank = need, count
        return best

    def _open_classes(self, classes: Sequence[_Class], need: int) -> list[int]:
        """The classes that may take a need, last first; of the empty ones only the first."""
        found = []
        for number, each in enumerate(classes):
            if not each.blocked >> need & 1:
                found.append(number)
            if not each.members:
                break
        return found[::-1]

    def _place(self, choice: _Choice, classes: list[_Class]) -> bool:
        """Put the need into the next class that takes it."""
        while choice.untried:
            number = choice.untried.pop()
            old = classes[number]
            members = old.members | 1 << choice.need
            if self._agree is None or self._agree(members):
                choice.number, choice.before = number, old
                classes[number] = _Class(members, old.blocked | self.graph[choice.need])
                return True
        return False
