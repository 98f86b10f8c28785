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
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from math import prod

from seqc.solver.needs import Need
from seqc.solver.passes.held_karp import FAR, MOST_STOPS, shortest_ways
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import ALWAYS, Ways, actuators_in, agree, apart, both, pulses_to

FEW_WAYS = 16
"""Needs with no more ways than these are searched through way by way."""

MOST_BEGUN = 600_000
"""So many beginnings of orders are looked at before a bound is left; some 0.7 kB each."""

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
    """An order of the passes for needs by gate of which no two share a pass.

    None where all needs have few ways, where one has too many for its parts, where needs are very
    many or may share a pass, and where the positions can't be at `end` after the last pass.
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
    if len(rows) > MOST_STOPS or any(_agree(*pair) for pair in itertools.combinations(rows, 2)):
        return None
    search = _SectionSearch(masks, rows, start, end)
    if not search.possible:
        return None
    found, least = search.best()
    members = list(gates.values())
    operated = (tuple(members[number]) for number in found.order)
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


def _agree(one: Row, two: Row) -> bool:
    return all(map(agree, one, two))


class _Section:
    """One section: how far it can have come, each state with a number, and how it goes on.

    A state tells by where the section may stand how many pulses more that took than the fewest.
    """

    def __init__(self, start: Positions, wanted: Sequence[Ways], end: Positions) -> None:
        """`wanted` is what each need wants; with the last pass `end` holds as well."""
        self._start = start
        self._wanted = wanted
        self._closing = [both(ways, (end,)) for ways in wanted]
        self._states: list[Mapping[Positions, int]] = [{start: 0}]
        self._numbers = {frozenset(self._states[0].items()): 0}
        self._moves: dict[tuple[int, int, bool], tuple[int, int]] = {}

    def closes(self, need: int) -> bool:
        """Whether a need can be the last one."""
        return bool(self._closing[need])

    def moved(self, state: int, need: int, last: bool) -> tuple[int, int]:
        """The pulses that a pass for a need adds to the fewest, and the state after it."""
        key = state, need, last
        if key not in self._moves:
            found = _reached(self._states[state], (self._closing if last else self._wanted)[need])
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
        for place, need in enumerate(order, start=1):
            longer: dict[Positions, tuple[int, tuple[Positions, ...]]] = {}
            for at, (pulses, path) in paths.items():
                for way in (self._closing if place == len(order) else self._wanted)[need]:
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
    """The search for one load: rows of which no two agree, by sections.

    The beginning of the least bound is gone on with first (A*); of two that leave the same to do
    only the better one.
    """

    def __init__(
        self, masks: Sequence[int], rows: Sequence[Row], start: Positions, end: Positions
    ) -> None:
        starts = [start.within(mask) for mask in masks]
        self._sections = [
            _Section(at, wanted, end.within(mask))
            for mask, at, wanted in zip(masks, starts, zip(*rows, strict=True), strict=True)
        ]
        self._first = [sum(map(pulses_to, starts, row)) for row in rows]
        self._steps = [[sum(map(apart, one, two)) for two in rows] for one in rows]
        self._closes = [
            all(section.closes(need) for section in self._sections) for need in range(len(rows))
        ]
        self.possible = any(self._closes)
        self._table = shortest_ways(self._steps, [0 if able else FAR for able in self._closes])
        self._nothing = _Begun((0,) * len(masks), 0, (), (1 << len(rows)) - 1)

    def best(self) -> tuple[_Begun, int]:
        """The best order that was found, and the fewest pulses of any."""
        best = self._finished(self._nothing)
        tickets = itertools.count()
        known: dict[tuple[int, tuple[int, ...]], int] = {}
        waiting = [(0, 0, next(tickets), self._nothing)]
        while waiting and len(known) < MOST_BEGUN:
            bound, _, _, begun = heapq.heappop(waiting)
            if bound >= best.pulses:
                return best, best.pulses
            if not begun.left:
                return begun, begun.pulses
            for need in bits(begun.left):
                if begun.left == 1 << need and not self._closes[need]:
                    continue
                after = self._after(begun, need)
                worth = max(bound, after.pulses + self._table.length(need, after.left))
                likeness = after.left, after.states
                if worth < best.pulses and after.pulses < known.get(likeness, FAR):
                    known[likeness] = after.pulses
                    heapq.heappush(waiting, (worth, -len(after.order), next(tickets), after))
        least = min([best.pulses, *(bound for bound, *_ in waiting)])
        hopeful = (begun for *_, begun in heapq.nsmallest(FINISHED, waiting))
        return min([best, *map(self._finished, hopeful)], key=lambda each: each.pulses), least

    def _finished(self, begun: _Begun) -> _Begun:
        """An order that goes on by what is shortest by the sums over sections."""
        while begun.left:
            begun = self._after(begun, min(bits(begun.left), key=partial(self._way, begun)))
        return begun

    def _way(self, begun: _Begun, need: int) -> int:
        """The length of the shortest way that goes on with a certain need."""
        there = self._steps[begun.order[-1]][need] if begun.order else self._first[need]
        return there + self._table.length(need, begun.left ^ 1 << need)

    def _after(self, begun: _Begun, need: int) -> _Begun:
        """One more pass, for a certain need."""
        left = begun.left ^ 1 << need
        pulses, states = begun.pulses, []
        for section, state in zip(self._sections, begun.states, strict=True):
            added, after = section.moved(state, need, not left)
            pulses += added
            states.append(after)
        return _Begun(tuple(states), pulses, (*begun.order, need), left)

    def holds(self, order: Sequence[int]) -> list[Positions]:
        """What the passes of an order hold so that all sections move least."""
        found = [Positions()] * len(order)
        for section in self._sections:
            found = [hold.then(way) for hold, way in zip(found, section.path(order), strict=True)]
        return found
