"""What each metering gate needs of the selectors so that its cells take the kinds of a glyph."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache, reduce
from math import prod

from seqc.machine.lane_graph import Route, routes_through
from seqc.machine.model import Machine
from seqc.machine.parts import Lane, Position, selectors_of
from seqc.machine.wiring import Actuator
from seqc.solver.changes import Ties
from seqc.solver.one_route import cheapest, choices
from seqc.solver.positions import Positions
from seqc.solver.ways import ALWAYS, NEVER, Conditions, Ways, absorbed, beside, both, prime

MOST_WAYS = 16
"""A need with more ways takes the route of each kind that is chosen for all."""

MOST_TOGETHER = 256
KEPT_LANES = 16


@dataclass(frozen=True)
class MeteringGroup:
    """A metering actuator and the cells that it loads, by their places in the grid's cells."""

    actuator: Actuator
    cells: tuple[int, ...]


class OutOfReachError(Exception):
    """The cells of one gate need opposite positions for a glyph, or a kind that isn't offered."""

    def __init__(self, glyph: str, gate: Actuator) -> None:
        super().__init__(f"glyph {glyph!r} is out of reach: {gate.name} can't load its cells")


@dataclass(frozen=True)
class Need:
    """What a group needs: that all of some conditions hold, which have no actuator in common.

    The first is what is needed in any case. Of a condition with more than `MOST_TOGETHER` ways the
    shortest are kept; `every` tells whether there is none such. Where ways are too many, one is
    `chosen`.
    """

    conditions: Conditions
    every: bool = True
    chosen: Positions | None = None

    @property
    def possible(self) -> bool:
        """Whether the kinds of the group's cells don't contradict."""
        return all(self.conditions)

    @property
    def few(self) -> bool:
        """Whether it has so few ways that all of them can be looked at."""
        return self.every and prod(map(len, self.conditions)) <= MOST_WAYS

    @property
    def whole(self) -> bool:
        """Whether no way is left out of `ways`."""
        return self.chosen is None

    @cached_property
    def ways(self) -> Ways:
        """Any of these is enough; only the one that was chosen where they are too many."""
        return (self.chosen,) if self.chosen is not None else reduce(beside, self.conditions)

    @property
    def in_any_case(self) -> Ways:
        """What is needed in any case: the ways if they are whole, or what all of them want."""
        return self.ways if self.whole else self.conditions[0]

    @property
    def shortest(self) -> Positions:
        """One of its ways."""
        return reduce(Positions.then, (ways[0] for ways in self.conditions))

    @property
    def bounding(self) -> Conditions:
        """What bounds are taken of: its ways, or if they are too many its conditions."""
        return (self.ways,) if self.whole else self.conditions


@dataclass(frozen=True, eq=False)
class LaneNeeds:
    """The needs of one lane, worked out once for the kinds of every cell."""

    machine: Machine
    lane: Lane

    @cached_property
    def groups(self) -> tuple[MeteringGroup, ...]:
        """The groups of the metering gate."""
        grid = self.lane.grid
        return tuple(
            MeteringGroup(actuator, tuple(grid.index_of[cell] for cell in actuator.cells))
            for actuator in self.machine.actuators_of(self.lane.metering, grid)
        )

    @cached_property
    def ties(self) -> Ties:
        """Which cells can't be moved apart."""
        return Ties(self.machine, self.lane)

    @cached_property
    def selector_mask(self) -> int:
        """The bit set of the actuators that move the grid's selectors."""
        return sum(
            1 << actuator.index
            for part in self.lane.selectors
            for actuator in self.machine.actuators_of(part, self.lane.grid)
        )

    @cached_property
    def _feed_of(self) -> tuple[int, ...]:
        """For each cell the number of its feed; cells that are fed alike have the same."""
        numbers: dict[int, int] = {}
        return tuple(numbers.setdefault(id(feed), len(numbers)) for feed in self.lane.feeds)

    @cached_property
    def _routes(self) -> dict[tuple[int, str], tuple[Route, ...]]:
        """The routes to each kind, by the number of the feed and the kind, those thrown first.

        Where not every choice can be tried, the first are.
        """
        feeds = dict(zip(self._feed_of, self.lane.feeds, strict=True))
        return {
            (number, kind): several[::-1]
            for number, feed in feeds.items()
            for kind, several in routes_through(feed).items()
        }

    @cached_property
    def offers(self) -> tuple[Mapping[str, Ways], ...]:
        """For each cell, the ways to offer each kind."""
        known: dict[tuple[int, ...], dict[str, Ways]] = {}
        offered = []
        for number, indexes in zip(self._feed_of, self._indexes, strict=True):
            pattern = (number, *indexes.values())
            if pattern not in known:
                known[pattern] = {
                    kind: prime(_positions(route, indexes) for route in several)
                    for (feed, kind), several in self._routes.items()
                    if feed == number
                }
            offered.append(known[pattern])
        return tuple(offered)

    @cached_property
    def _words(self) -> tuple[Mapping[str, int], ...]:
        """For each cell what each kind needs that comes in one way only.

        It is one word: the actuators at rest, and above them those thrown.
        """
        width = len(self.machine.actuators)
        return tuple(_single(offers, width) for offers in self.offers)

    @cached_property
    def _kept(self) -> list[tuple[Sequence[str], dict[int, Need]]]:
        return []

    def needs(self, kinds: Sequence[str]) -> dict[int, Need]:
        """What each group needs, by the index of its actuator; kept for the glyph asked last."""
        if not self._kept or self._kept[0][0] is not kinds:
            found = {group.actuator.index: self.need(group, kinds) for group in self.groups}
            if all(need.possible for need in found.values()):
                found = self._few_ways(found, kinds)
            self._kept[:] = [(kinds, found)]
        return self._kept[0][1]

    def _few_ways(self, needs: dict[int, Need], kinds: Sequence[str]) -> dict[int, Need]:
        """The needs, with one way chosen for each where any of them has too many."""
        if all(need.few for need in needs.values()):
            return needs
        used = {at: self._routes[at] for at in zip(self._feed_of, kinds, strict=True)}
        options = (self._by(chosen, kinds) for chosen in choices(used))
        best = cheapest(wanted for wanted in options if wanted)
        return {
            gate: replace(need, chosen=best[gate] if best else need.shortest)
            for gate, need in needs.items()
        }

    def _by(
        self, chosen: Mapping[tuple[int, str], Route], kinds: Sequence[str]
    ) -> dict[int, Positions]:
        """What each group wants if each kind comes by one route; nothing if any contradicts."""
        wanted = {}
        for group in self.groups:
            together = Positions()
            for cell in group.cells:
                route = chosen[self._feed_of[cell], kinds[cell]]
                way = _positions(route, self._indexes[cell])
                if not way.meet(together):
                    return {}
                together = together.then(way)
            wanted[group.actuator.index] = together
        return wanted

    @cached_property
    def _indexes(self) -> tuple[dict[str, int], ...]:
        """For each cell the actuator of each selector, by the selector's name."""
        grid = self.lane.grid
        return tuple(
            {
                part.name: self.machine.actuator_of(part, grid, cell).index
                for part in selectors_of(feed)
            }
            for cell, feed in zip(grid.cells, self.lane.feeds, strict=True)
        )

    def need(self, group: MeteringGroup, kinds: Sequence[str]) -> Need:
        """What one group needs for the kinds of all cells of the grid."""
        words, rest_and_thrown = self._words, 0
        loose: dict[Ways, None] = {}
        for cell in group.cells:
            kind = kinds[cell]
            word = words[cell].get(kind)
            if word is None:
                loose[self.offers[cell].get(kind, NEVER)] = None
            else:
                rest_and_thrown |= word
        width = len(self.machine.actuators)
        rest, thrown = rest_and_thrown & (1 << width) - 1, rest_and_thrown >> width
        if rest & thrown:
            return Need((NEVER,))
        forced = Positions(rest | thrown, thrown)
        if loose:
            return joined(forced, list(loose))
        return Need(((forced,),))


def _single(offers: Mapping[str, Ways], width: int) -> dict[str, int]:
    return {
        kind: ways[0].known & ~ways[0].thrown | ways[0].thrown << width
        for kind, ways in offers.items()
        if len(ways) == 1
    }


def _positions(route: Route, indexes: Mapping[str, int]) -> Positions:
    known = thrown = 0
    for selector, position in route:
        known |= 1 << indexes[selector.name]
        thrown |= (position is Position.THROWN) << indexes[selector.name]
    return Positions(known, thrown)


def joined(forced: Positions, loose: Sequence[Ways]) -> Need:
    """The need for which `forced` and each of several conditions must hold."""
    forced, clauses = _propagated(forced, loose)
    products = [_product(cluster) for cluster in _clusters(clauses)]
    conditions = ((forced,), *(ways for ways, _ in products))
    return Need(conditions, not any(cut for _, cut in products))


def _propagated(forced: Positions, loose: Sequence[Ways]) -> tuple[Positions, list[Ways]]:
    """Take into `forced` every condition that it leaves only one way; drop those that it fulfils.

    A contradiction is left over as a condition without ways.
    """
    clauses = list(dict.fromkeys(loose))
    while True:
        clauses = [_given(forced, clause) for clause in clauses]
        single = next((clause for clause in clauses if len(clause) == 1), None)
        if single is None:
            return forced, list(dict.fromkeys(clauses))
        forced = forced.then(single[0])
        clauses = [clause for clause in clauses if clause not in (single, ALWAYS)]


def _given(forced: Positions, clause: Ways) -> Ways:
    return absorbed(way.within(~forced.known) for way in clause if way.meet(forced))


def _clusters(clauses: Sequence[Ways]) -> list[list[Ways]]:
    """The conditions in sets that have no actuator in common."""
    clusters: list[tuple[int, list[Ways]]] = []
    for clause in clauses:
        mask, members = 0, [clause]
        for way in clause:
            mask |= way.known
        for other in [cluster for cluster in clusters if cluster[0] & mask]:
            clusters.remove(other)
            mask, members = mask | other[0], other[1] + members
        clusters.append((mask, members))
    return [members for _, members in clusters]


def _product(cluster: Sequence[Ways]) -> tuple[Ways, bool]:
    """The ways in which all conditions hold, and whether some were left out."""
    ways, cut = ALWAYS, False
    for clause in cluster:
        every = both(ways, clause)
        ways, cut = every[:MOST_TOGETHER], cut or len(every) > MOST_TOGETHER
    return (ways, cut) if ways or not cut else (_any_way(cluster), True)


def _any_way(cluster: Sequence[Ways]) -> Ways:
    """One way in which all conditions hold, if there is any: depth first, on a stack."""
    waiting = [(0, Positions())]
    while waiting:
        depth, held = waiting.pop()
        if depth == len(cluster):
            return (held,)
        waiting += [(depth + 1, held.then(way)) for way in cluster[depth] if way.meet(held)]
    return NEVER


@lru_cache(KEPT_LANES)
def needs_of(machine: Machine, grid: str) -> LaneNeeds:
    """The needs of a grid's lane, kept for the machines that were last asked about."""
    return LaneNeeds(machine, machine.lane_of(grid))
