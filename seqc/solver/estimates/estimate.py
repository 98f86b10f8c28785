"""A good order where the best can't be proven within the effort, and the bound it is held to."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

from seqc.machine.effort import Work
from seqc.solver.estimates.guided import GuidedPasses, passes_and_bound
from seqc.solver.estimates.spanning import spanning_bound
from seqc.solver.estimates.tour import short_way
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions
from seqc.solver.ways import Ways, apart, both, pulses_to, steps_between

TOUR_SHARE = 0.15

SPANNING = 6
"""So many nodes for each pair of needs of a spanning tree with prices."""


def estimated_order(component: Component, count: int, lower_bound: int, work: Work) -> Order:
    """The classes of needs that share passes in an order found by exchange, with a proven bound.

    `lower_bound` is a bound that is known already. Raises EndError where no class can be the last
    before the end that is asked for.
    """
    members = [
        [component.needs[number] for number in numbers] for numbers in component.colouring.classes
    ]
    classes = [reduce(both, several) for several in members]
    last = _last(classes, component.end, len(classes) < count)
    order = short_way(_steps(classes, component.start), last, work.part(TOUR_SHARE))
    if order is None:
        raise EndError
    tight = len(classes) == count
    holds = _held([classes[number] for number in order], component.start, component.end, tight)
    if not component.complete:
        holds, bound = _settled(
            holds, [members[number] for number in order], component, tight, work
        )
        lower_bound = max(lower_bound, bound)
    pulses = _pulses(holds, component.start, component.end)
    if component.complete or any(len(ways) > 1 for ways in component.needs):
        ends = _last(component.needs, component.end, True)
        work.spend(SPANNING * len(component.needs) ** 2)
        trees = spanning_bound(_steps(component.needs, component.start), ends, pulses)
        lower_bound = max(lower_bound, trees)
    return Order(holds, pulses, lower_bound)


def _settled(
    holds: Sequence[Positions],
    members: Sequence[Sequence[Ways]],
    component: Component,
    tight: bool,
    work: Work,
) -> tuple[tuple[Positions, ...], int]:
    """What passes hold for their needs made better by what it really costs, and a bound of that.

    Open needs leave actuators where they are. Each need keeps the way that its pass fulfils.
    """
    passes = [
        [_fulfilled(ways, hold) for ways in several]
        for hold, several in zip(holds, members, strict=True)
    ]
    guided = GuidedPasses(passes, component.start, component.end, tight, work)
    bound = passes_and_bound(guided, component.needs)
    return tuple(guided.holds), bound


def _fulfilled(ways: Ways, hold: Positions) -> Positions:
    return next(way for way in ways if not hold.missing(way))


def _steps(classes: Sequence[Ways], start: Positions) -> list[list[int]]:
    """Pulses between any two classes at least; the start comes first."""
    first = [pulses_to(start, ways) for ways in classes]
    return [
        [0, *first],
        *([far, *row] for far, row in zip(first, steps_between(classes), strict=True)),
    ]


def _last(classes: Sequence[Ways], end: Positions, free: bool) -> list[int | None]:
    """Pulses from each class to the end, None where it opposes the end and so can't be last."""
    ends = [apart(ways, (end,)) for ways in classes]
    return [length if free or not length else None for length in ends]


def _held(
    classes: Sequence[Ways], start: Positions, end: Positions, tight: bool
) -> tuple[Positions, ...]:
    """For each class in turn the way that is nearest to the positions before it.

    Where the end is tight that of the last one agrees with the end.
    """
    positions = start
    holds = []
    for number, ways in enumerate(classes):
        if tight and number == len(classes) - 1:
            ways = tuple(way for way in ways if way.meet(end))
        hold = min(ways, key=lambda way: positions.missing(way).bit_count())
        positions = positions.then(hold)
        holds.append(hold)
    return tuple(holds)


def _pulses(holds: Sequence[Positions], start: Positions, end: Positions) -> int:
    pulses = 0
    positions = start
    for hold in (*holds, end):
        pulses += positions.missing(hold).bit_count()
        positions = positions.then(hold)
    return pulses
