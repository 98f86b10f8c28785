"""The passes that load one grid: what is sought of each component, put together."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from seqc.machine.effort import Work
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.solver.estimates.spanning import spanning_bound
from seqc.solver.needs import Need
from seqc.solver.passes.colouring import EffortError, clique, opposed_conditions
from seqc.solver.passes.forced_sharing import with_forced_sharing
from seqc.solver.passes.full_order import full_order, orders_fully
from seqc.solver.passes.held_karp import FEW_STOPS, stops_within, table_nodes
from seqc.solver.passes.order import FEW_PASSES, MOST_PASSES, EndError, Order, OrderSearch
from seqc.solver.passes.reduction import Component, reduced
from seqc.solver.plan import GridPlan, Pass
from seqc.solver.positions import UNKNOWN, Positions, bits
from seqc.solver.ways import Conditions, Ways, complete, least_moves, least_pulses_to

FEW_HOLDS = 2_000
"""So much is tried in plain Python, before numpy is imported."""

MOST_NEEDS = 64
"""More needs are too many to go from state to state."""

TRAJECTORIES_SHARE = 0.3
STATES_SHARE = 0.2
TABLE_PART = 3
LEAST_LAYERS = 6_000
"""With less work a search in layers isn't begun."""
LAYERS_SHARE = 0.6
"""Such shares of the work that is left go to each search."""


@dataclass(frozen=True, slots=True)
class PassStep:
    """The bit set of selectors to pulse, the positions after it, and the gates to operate."""

    pulsed: int
    positions: Positions
    operated: tuple[int, ...]

    def planned(self, actuators: Sequence[Actuator]) -> Pass:
        """The pass as a plan has it."""
        thrown = self.positions.thrown
        moved = [
            (actuators[index], Position.THROWN if thrown >> index & 1 else Position.REST)
            for index in bits(self.pulsed)
        ]
        return Pass(tuple(moved), tuple([actuators[index] for index in self.operated]))


@dataclass(frozen=True, slots=True)
class Loading:
    """The passes of one grid with proven lower bounds of their number and of selector pulses."""

    passes: tuple[PassStep, ...]
    end: Positions
    passes_bound: int
    pulses_bound: int


def passes_in(plan: GridPlan) -> Iterator[PassStep]:
    """The passes of a plan."""
    positions = plan.start
    for step in plan.passes:
        known = sum(1 << actuator.index for actuator, _ in step.set)
        thrown = sum(1 << actuator.index for actuator, at in step.set if at is Position.THROWN)
        positions = positions.then(Positions(known, thrown))
        yield PassStep(known, positions, tuple(gate.index for gate in step.operate))


def best_loading(
    needs: Mapping[int, Need], work: Work, start: Positions, end: Positions = UNKNOWN
) -> Loading:
    """The fewest passes that load every group, and of those the fewest pulses.

    `needs` has the need of each metering gate by the index of its actuator. Where one way of many
    was chosen, the bounds are those of what is needed in any case.

    Raises EndError where the positions can't be at `end` after the last pass.
    """
    found = _loading({gate: need.ways for gate, need in needs.items()}, work, start, end)
    if all(need.whole for need in needs.values()):
        return found
    distinct = list(dict.fromkeys(need.bounding for need in needs.values()))
    passes_bound = clique(opposed_conditions(distinct), (1 << len(distinct)) - 1).bit_count()
    return replace(found, passes_bound=passes_bound, pulses_bound=_one_by_one(distinct, start))


def _one_by_one(needs: Sequence[Conditions], start: Positions) -> int:
    """No way through all needs takes fewer pulses, in whatever passes they are loaded."""
    first = [least_pulses_to(start, need) for need in needs]
    steps = [[least_moves(one, two) for two in needs] for one in needs]
    start_first = [[0, *first], *([far, *row] for far, row in zip(first, steps, strict=True))]
    return spanning_bound(start_first, [0] * len(needs), sum(first))


def _loading(needs: Mapping[int, Ways], work: Work, start: Positions, end: Positions) -> Loading:
    if not needs:
        return _nothing(start, end)
    left = reduced(needs.values(), start, end)
    colourings = [component.colouring for component in left.components]
    count = max((len(colouring.classes) for colouring in colourings), default=1)
    orders = [best_order(component, count, work) for component in left.components]
    passes = passes_of(needs, _holds(orders, count, end), start, left.pure)
    assert sum(len(step.operated) for step in passes) == len(needs)
    if passes[-1].positions.missing(end):
        raise EndError
    return Loading(
        passes,
        passes[-1].positions,
        max((colouring.lower_bound for colouring in colourings), default=1),
        left.pure_pulses + sum(order.lower_bound for order in orders),
    )


def _nothing(start: Positions, end: Positions) -> Loading:
    if start.missing(end):
        raise EndError
    return Loading((), start, 0, 0)


def best_order(component: Component, count: int, work: Work) -> Order:
    """The best order of a component within so many passes; of very many a good one with a bound."""
    component = with_forced_sharing(component, count)
    if orders_fully(component):
        work.spend(table_nodes(len(component.needs)))
        return full_order(component, count)
    if count > MOST_PASSES:
        return _rough_order(component, count, 0, work)
    if len(component.needs) > FEW_STOPS and count <= FEW_PASSES:
        by_trajectories = _by_trajectories(component, count, work)
        if by_trajectories:
            return by_trajectories
    if len(component.needs) <= MOST_NEEDS:
        try:
            return _state_by_state(component, count, work)
        except EffortError:
            pass
    return _by_layers(component, count, work)


def _rough_order(component: Component, count: int, lower_bound: int, work: Work) -> Order:
    """An order of many passes; what it takes is imported only here, since few loads need it."""
    from seqc.solver.estimates.estimate import estimated_order

    return estimated_order(component, count, lower_bound, work)


def _state_by_state(component: Component, count: int, work: Work) -> Order:
    few = len(component.needs) <= FEW_STOPS
    most = FEW_HOLDS if few else max(FEW_HOLDS, work.part(STATES_SHARE).left)
    stops = stops_within(len(component.needs), work.left // TABLE_PART, windows=True)
    work.spend(table_nodes(stops, windows=not few))
    search = OrderSearch(component, count, most, stops)
    try:
        return search.best()
    finally:
        work.spend(search.spent)


def _by_trajectories(component: Component, count: int, work: Work) -> Order | None:
    """Numpy is imported only here, where it is needed: its import takes longer than most plans."""
    from seqc.solver.trajectories.order import order_by_trajectories

    return order_by_trajectories(component, count, work.part(TRAJECTORIES_SHARE))


def _by_layers(component: Component, count: int, work: Work) -> Order:
    from seqc.solver.layers.search import order_by_layers

    if work.left < LEAST_LAYERS:
        return _rough_order(component, count, 0, work)
    try:
        found = order_by_layers(component, count, work.part(LAYERS_SHARE))
    except EffortError as error:
        return _rough_order(component, count, error.lower_bound, work)
    return found if found.pulses == found.lower_bound else _estimated(component, count, found, work)


def _estimated(component: Component, count: int, found: Order, work: Work) -> Order:
    """What was found, or an estimate where that is better, with the better bound."""
    other = _rough_order(component, count, found.lower_bound, work)
    return replace(min(found, other, key=lambda order: order.pulses), lower_bound=other.lower_bound)


def _holds(orders: Sequence[Order], count: int, end: Positions) -> list[Positions]:
    """What each pass of the grid holds: what it holds for each component, and the end at last."""
    holds = []
    for number in range(count):
        hold = Positions()
        for order in orders:
            if number < len(order.holds):
                hold = hold.then(order.holds[number])
        holds.append(hold)
    holds[-1] = holds[-1].then(end)
    return holds


def passes_of(
    needs: Mapping[int, Ways],
    holds: Sequence[Positions],
    start: Positions,
    pure: Positions = UNKNOWN,
) -> tuple[PassStep, ...]:
    """The passes of the grid: each operates every group whose need its positions fulfil.

    What all needs want in one position, `pure`, is set in the first pass that operates such a
    group.
    """
    waiting: dict[Ways, list[int]] = {}
    for gate, ways in needs.items():
        waiting.setdefault(ways, []).append(gate)
    spoken_of = next(iter(waiting))[0].known if complete(list(waiting)) else None
    positions = start
    passes = []
    for hold in holds:
        sure = positions.then(hold).then(pure)
        operated: list[int] = []
        for ways, way in _fulfilled(waiting, sure, spoken_of):
            operated += waiting.pop(ways)
            hold = hold.then(way)
        if operated:
            after = positions.then(hold)
            passes.append(PassStep(positions.missing(hold), after, tuple(sorted(operated))))
            positions = after
    return tuple(passes)


def _fulfilled(
    waiting: Collection[Ways], at: Positions, spoken_of: int | None
) -> list[tuple[Ways, Positions]]:
    """What is fulfilled at some positions, with the first way that holds there.

    Where each has one way, and all speak of the same actuators, that can be one of them only.
    """
    if spoken_of is not None:
        way = at.within(spoken_of)
        return [((way,), way)] if (way,) in waiting else []
    found = ((ways, next((way for way in ways if not at.missing(way)), None)) for ways in waiting)
    return [(ways, way) for ways, way in found if way is not None]
