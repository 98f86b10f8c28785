"""Loads whose needs come in very many ways, section by section.

A section is a set of selectors that no condition ties to others, say those of one row. What a load
takes is then a sum over sections: between two needs at least what each section must move, and in a
given order of needs just the shortest path of each section by itself. So the shortest way through
all needs by these sums bounds every order, and where its own order takes no more it is best. The
ways of a need, all choices of a way in each section, are never put together.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from math import prod
from operator import or_

from seqc.solver.needs import Need
from seqc.solver.passes.held_karp import FAR, MOST_STOPS, shortest_ways
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import ALWAYS, Ways, actuators_in, apart, both

FEW_WAYS = 16
"""Needs with no more ways than these are searched through way by way."""

MOST_BEGUN = 600_000
"""So many beginnings of orders are looked at before a bound is left; some 0.7 kB each."""

MOST_GROUPS = 500
"""In so many ways needs may share a pass."""

FINISHED = 100
"""So many of the most hopeful beginnings are then finished straight away."""

Row = tuple[Ways, ...]
"""What is wanted of each section."""


@dataclass(frozen=True, slots=True)
class SectionOrder:
    """The gates pass by pass with what each pass holds, the pulses, and the fewest of any order."""

    passes: tuple[tuple[tuple[int, ...], Positions], ...]
    pulses: int
    least: int


def order_by_sections(
    needs: Mapping[int, Need], start: Positions, end: Positions
) -> SectionOrder | None:
    """An order of the fewest passes for needs by gate.

    None where all needs have few ways, where one has too many for its parts, where needs are very
    many or may share passes in very many ways, and where no order was found, or none ends at `end`.
    """
    parts = [need.parts for need in needs.values()]
    most = max((prod(map(len, several)) for several in parts), default=0)
    if most <= FEW_WAYS or not all(parts):
        return None
    gates: dict[tuple[Ways, ...], list[int]] = {}
    for gate, need in needs.items():
        gates.setdefault(need.parts, []).append(gate)
    masks = _sections([*gates, ((end,),)])
    rows = [_row(several, masks) for several in gates]
    groups = _groups(rows) if len(rows) <= MOST_STOPS else None
    if groups is None:
        return None
    search = _SectionSearch(masks, groups, start, end)
    found, least = search.best()
    if found is None:
        return None
    members = list(gates.values())
    operated = (
        tuple(gate for need in bits(group) for gate in members[need]) for group in found.order
    )
    passes = zip(operated, search.holds(found.order), strict=True)
    return SectionOrder(tuple(passes), found.pulses, least)


def _sections(several: Iterable[Sequence[Ways]]) -> list[int]:
    """The bit sets of actuators that some condition ties together; one of one way ties none."""
    found: list[int] = []
    for ways in itertools.chain.from_iterable(several):
        spoken = actuators_in(ways)
        for mask in [spoken] if len(ways) > 1 else [1 << index for index in bits(spoken)]:
            tied = [other for other in found if other & mask]
            found = [other for other in found if not other & mask]
            found.append(mask | sum(other & ~mask for other in tied))
    return found


def _row(parts: Sequence[Ways], masks: Sequence[int]) -> Row:
    return tuple(_within(parts, mask) for mask in masks)


def _within(parts: Sequence[Ways], mask: int) -> Ways:
    ways = ALWAYS
    for part in parts:
        if actuators_in(part) & mask:
            ways = both(ways, tuple(way.within(mask) for way in part))
    return ways


def _groups(rows: Sequence[Row]) -> dict[int, Row] | None:
    """All bit sets of needs that can share a pass with what they want; None for very many."""
    found = {1 << need: row for need, row in enumerate(rows)}
    waiting = list(found.items())
    while waiting:
        group, wanted = waiting.pop()
        for need in range(group.bit_length(), len(rows)):
            together = tuple(map(both, wanted, rows[need]))
            if all(together):
                found[group | 1 << need] = together
                waiting.append((group | 1 << need, together))
        if len(found) > MOST_GROUPS:
            return None
    return found


class _Section:
    """One section: how far it can have come, each state with a number, and how it goes on.

    A state tells by where the section may stand how many pulses more that took than the fewest.
    """

    def __init__(self, start: Positions, wanted: Mapping[int, Ways], end: Positions) -> None:
        """`wanted` is what each group wants; with the last pass `end` holds as well."""
        self._start = start
        self._wanted = wanted
        self._closing = {group: both(ways, (end,)) for group, ways in wanted.items()}
        self._states: list[Mapping[Positions, int]] = [{start: 0}]
        self._numbers = {frozenset(self._states[0].items()): 0}
        self._moves: dict[tuple[int, int, bool], tuple[int, int]] = {}

    def closes(self, group: int) -> bool:
        """Whether a group can be the last one."""
        return bool(self._closing[group])

    def moved(self, state: int, group: int, last: bool) -> tuple[int, int]:
        """The pulses that a pass for a group adds to the fewest, and the state after it."""
        key = state, group, last
        if key not in self._moves:
            found = _reached(self._states[state], (self._closing if last else self._wanted)[group])
            added = min(found.values())
            after = {at: pulses - added for at, pulses in found.items()}
            number = self._numbers.setdefault(frozenset(after.items()), len(self._states))
            if number == len(self._states):
                self._states.append(after)
            self._moves[key] = added, number
        return self._moves[key]

    def path(self, order: Sequence[int]) -> list[Positions]:
        """A way for each pass of an order, so that the section moves least in all."""
        paths: dict[Positions, tuple[int, tuple[Positions, ...]]] = {self._start: (0, ())}
        for place, group in enumerate(order, start=1):
            longer: dict[Positions, tuple[int, tuple[Positions, ...]]] = {}
            for at, (pulses, path) in paths.items():
                for way in (self._closing if place == len(order) else self._wanted)[group]:
                    after, count = at.then(way), pulses + at.missing(way).bit_count()
                    if after not in longer or count < longer[after][0]:
                        longer[after] = count, (*path, way)
            paths = longer
        return list(min(paths.values(), key=lambda each: each[0])[1])


def _reached(state: Mapping[Positions, int], ways: Ways) -> dict[Positions, int]:
    """Where a section can stand after one more pass, without where it is never better to stand."""
    found: dict[Positions, int] = {}
    for at, pulses in state.items():
        for way in ways:
            after, count = at.then(way), pulses + at.missing(way).bit_count()
            found[after] = min(found.get(after, count), count)
    return {
        at: pulses
        for at, pulses in found.items()
        if not any(
            other != at and less + other.missing(at).bit_count() <= pulses
            for other, less in found.items()
        )
    }


@dataclass(frozen=True, slots=True)
class _Begun:
    """The first passes of an order: the states of the sections, and the needs that are left."""

    states: tuple[int, ...]
    pulses: int
    order: tuple[int, ...]
    left: int


class _SectionSearch:
    """The search for one load, by sections; `groups` are the needs that can share a pass.

    The beginning of the least bound is gone on with first (A*); of two that leave the same to do
    only the better one.
    """

    def __init__(
        self, masks: Sequence[int], groups: Mapping[int, Row], start: Positions, end: Positions
    ) -> None:
        self._groups = groups
        self._sections = [
            _Section(
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
        self._table = shortest_ways(
            steps, [0 if ends >> need & 1 else FAR for need in range(count)]
        )
        self._fewest: dict[int, int] = {0: 0}
        self._nothing = _Begun((0,) * len(masks), 0, (), (1 << count) - 1)
        self._passes = self._fewest_passes(self._nothing.left)

    def _fewest_passes(self, left: int) -> int:
        """In how few passes some needs can be loaded."""
        if left not in self._fewest:
            first = left & -left
            rests = [left ^ group for group in self._groups if group & first and not group & ~left]
            self._fewest[left] = 1 + min(map(self._fewest_passes, rests))
        return self._fewest[left]

    def best(self) -> tuple[_Begun | None, int]:
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

    def _finished(self, begun: _Begun) -> _Begun | None:
        """An order that goes on by what is shortest by the sums over sections, if one ends so."""
        while begun.left:
            onward = min(self._onward(begun), key=lambda each: each[0], default=None)
            if onward is None:
                return None
            begun = onward[1]
        return begun

    def _onward(self, begun: _Begun) -> Iterator[tuple[int, _Begun]]:
        """One more pass for any group that leaves few enough, and what all then takes at least."""
        passes_left = self._passes - len(begun.order) - 1
        for group in self._groups if passes_left else self._closing:
            left = begun.left & ~group
            if group & ~begun.left or self._fewest_passes(left) > passes_left:
                continue
            after = self._after(begun, group)
            yield after.pulses + max(self._table.length(n, left) for n in bits(group)), after

    def _after(self, begun: _Begun, group: int) -> _Begun:
        """One more pass, for a certain group."""
        left = begun.left ^ group
        pulses, states = begun.pulses, []
        for section, state in zip(self._sections, begun.states, strict=True):
            added, after = section.moved(state, group, not left)
            pulses += added
            states.append(after)
        return _Begun(tuple(states), pulses, (*begun.order, group), left)

    def holds(self, order: Sequence[int]) -> list[Positions]:
        """What the passes of an order hold so that all sections move least."""
        found = [Positions()] * len(order)
        for section in self._sections:
            found = [hold.then(way) for hold, way in zip(found, section.path(order), strict=True)]
        return found
