"""The best order of passes where every need speaks of every actuator, as with all cells given.

No two different needs then share a pass, and what a pass leaves behind is what it held. So the
passes are a shortest way from stop to stop, with the differing positions as distances.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from seqc.solver.passes.held_karp import FAR, MOST_STOPS, ShortestWays, Steps, shortest_ways
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions, bits

KEPT_TABLES = 32


def orders_fully(component: Component) -> bool:
    """Whether the best order of a component is found here."""
    return component.complete and len(component.needs) <= MOST_STOPS


def full_order(component: Component, passes: int) -> Order:
    """The order with the fewest pulses within so many passes.

    A stop that is where the machine stands already comes first at no cost, whatever follows: the
    distances obey the triangle inequality. Raises EndError where the end can't be met.
    """
    stops = [need[0] for need in component.needs]
    tight = passes == len(stops) and component.end.known != 0
    first = next((stop for stop in stops if not component.start.missing(stop)), None)
    if tight or first is None:
        return _through(stops, component.start, component.end, tight)
    stops.remove(first)
    rest = _through(stops, component.start, component.end, tight=False)
    return Order((first, *rest.holds), rest.pulses, rest.pulses)


def _through(stops: Sequence[Positions], start: Positions, end: Positions, tight: bool) -> Order:
    """The best order of the stops; with `tight` one that opposes the end can't be the last."""
    last = [stop.opposed(end).bit_count() for stop in stops]
    if tight:
        last = [FAR if far else 0 for far in last]
        if min(last) == FAR:
            raise EndError
    if not stops:
        pulses = start.missing(end).bit_count()
        return Order((), pulses, pulses)
    first = [start.missing(stop).bit_count() for stop in stops]
    steps, ways = _table(tuple(stop.thrown for stop in stops), tuple(last))
    pulses, way = _shortest(first, steps, ways)
    return Order(tuple(stops[stop] for stop in way), pulses, pulses)


@lru_cache(maxsize=KEPT_TABLES)
def _table(codes: tuple[int, ...], last: tuple[int, ...]) -> tuple[Steps, ShortestWays]:
    """Kept for a while: a programme asks for the same glyph from many positions."""
    steps = [[(a ^ b).bit_count() for b in codes] for a in codes]
    return steps, shortest_ways(steps, last)


def _shortest(first: Sequence[int], steps: Steps, ways: ShortestWays) -> tuple[int, list[int]]:
    """The length of the shortest way, and its stops in order."""
    length = ways.length
    left = (1 << len(first)) - 1
    total = min([there + length(stop, left ^ 1 << stop) for stop, there in enumerate(first)])
    way: list[int] = []
    ahead, there = total, first
    while left:
        stop = next(
            stop for stop in bits(left) if there[stop] + length(stop, left ^ 1 << stop) == ahead
        )
        way.append(stop)
        left ^= 1 << stop
        ahead -= there[stop]
        there = steps[stop]
    return total, way
