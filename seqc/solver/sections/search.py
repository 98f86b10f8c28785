"""The search for the order of fewest pulses, the pulses of all sections added up."""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from seqc.solver.passes.held_karp import FAR, shortest_ways
from seqc.solver.positions import Positions, bits
from seqc.solver.sections.section import Section
from seqc.solver.ways import Ways, apart

MOST_BEGUN = 600_000
"""So many beginnings of orders are looked at before a bound is left; some 0.7 kB each."""

FINISHED = 100
"""So many of the most hopeful beginnings are then finished straight away."""

Row = tuple[Ways, ...]
"""What is wanted of each section."""


@dataclass(frozen=True, slots=True)
class FirstPasses:
    """The first passes of an order: the states of the sections, and the needs that are left."""

    states: tuple[int, ...]
    pulses: int
    order: tuple[int, ...]
    left: int


class SectionSearch:
    """The search for one load, by sections; `groups` are the needs that can share a pass.

    The beginning of the least bound is gone on with first (A*); of two that leave the same to do
    only the better one.
    """

    def __init__(
        self, masks: Sequence[int], groups: Mapping[int, Row], start: Positions, end: Positions
    ) -> None:
        self._groups = groups
        self._sections = [
            Section(
                start.within(mask),
                {group: row[number] for group, row in groups.items()},
                end.within(mask),
            )
            for number, mask in enumerate(masks)
        ]
        count = max(groups).bit_length()
        rows = [groups[1 << need] for need in range(count)]
        steps = [[sum(map(apart, one, two)) for two in rows] for one in rows]
        self._closing = [
            group for group in groups if all(each.closes(group) for each in self._sections)
        ]
        ends = reduce(or_, self._closing, 0)
        last = [0 if ends >> need & 1 else FAR for need in range(count)]
        self._table = shortest_ways(steps, last)
        self._fewest: dict[int, int] = {0: 0}
        self._nothing = FirstPasses((0,) * len(masks), 0, (), (1 << count) - 1)
        self._passes = self._fewest_passes(self._nothing.left)

    def _fewest_passes(self, left: int) -> int:
        """In how few passes some needs can be loaded."""
        if left not in self._fewest:
            first = left & -left
            rests = [left ^ group for group in self._groups if group & first and not group & ~left]
            self._fewest[left] = 1 + min(map(self._fewest_passes, rests))
        return self._fewest[left]

    def best(self) -> tuple[FirstPasses | None, int]:
        """The best order that was found, and the fewest pulses of any."""
        if not self._closing:
            return None, 0
        best = self._finished(self._nothing)
        limit = best.pulses if best else FAR
        tickets = itertools.count()
        known: dict[tuple[int, int, tuple[int, ...]], int] = {}
        waiting = [(0, 0, next(tickets), self._nothing)]
        while waiting and len(known) < MOST_BEGUN:
            bound, _, _, begun = heapq.heappop(waiting)
            if bound >= limit:
                return best, limit
            if not begun.left:
                return begun, begun.pulses
            for worth, after in self._onward(begun):
                likeness = len(after.order), after.left, after.states
                if worth < limit and after.pulses < known.get(likeness, FAR):
                    known[likeness] = after.pulses
                    worth = max(bound, worth)
                    heapq.heappush(waiting, (worth, -len(after.order), next(tickets), after))
        least = min([limit, *(bound for bound, *_ in waiting)])
        hopeful = [begun for *_, begun in heapq.nsmallest(FINISHED, waiting)]
        found = [each for each in (best, *map(self._finished, hopeful)) if each]
        return min(found, key=lambda each: each.pulses, default=None), least

    def _finished(self, begun: FirstPasses) -> FirstPasses | None:
        """An order that goes on by what is shortest by the sums over sections, if one ends so."""
        while begun.left:
            onward = min(self._onward(begun), key=lambda each: each[0], default=None)
            if onward is None:
                return None
            begun = onward[1]
        return begun

    def _onward(self, begun: FirstPasses) -> Iterator[tuple[int, FirstPasses]]:
        """One more pass for any group that leaves few enough, and what all then takes at least."""
        passes_left = self._passes - len(begun.order) - 1
        for group in self._groups if passes_left else self._closing:
            left = begun.left & ~group
            if group & ~begun.left or self._fewest_passes(left) > passes_left:
                continue
            after = self._after(begun, group)
            yield after.pulses + max(self._table.length(n, left) for n in bits(group)), after

    def _after(self, begun: FirstPasses, group: int) -> FirstPasses:
        """One more pass, for a certain group."""
        left = begun.left ^ group
        pulses, states = begun.pulses, []
        for section, state in zip(self._sections, begun.states, strict=True):
            added, after = section.moved(state, group, not left)
            pulses += added
            states.append(after)
        return FirstPasses(tuple(states), pulses, (*begun.order, group), left)

    def holds(self, order: Sequence[int]) -> list[Positions]:
        """What the passes of an order hold so that all sections move least."""
        found = [Positions()] * len(order)
        for section in self._sections:
            found = [hold.then(way) for hold, way in zip(found, section.path(order), strict=True)]
        return found
