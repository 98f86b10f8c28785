"""The best order of few passes, whatever number of needs share them.

What an actuator does in few passes is one of few trajectories. The pulses are a sum over the
trajectories taken, and each need asks of those of its own actuators that some pass fulfils it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from seqc.machine.effort import Work
from seqc.machine.parts import Position
from seqc.solver.passes.colouring import EffortError
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions, bits
from seqc.solver.trajectories.search import TrajectorySearch
from seqc.solver.trajectories.trajectory import Trajectory, trajectories
from seqc.solver.ways import actuators_in


def order_by_trajectories(component: Component, passes: int, work: Work) -> Order | None:
    """The order with the fewest pulses within so many passes.

    None where the work doesn't suffice. Raises EndError where the end can't be met.
    """
    start, end = component.start, component.end
    every = end.known
    for ways in component.needs:
        every |= actuators_in(ways)
    options = {index: trajectories(start.of(index), end.of(index), passes) for index in bits(every)}
    try:
        chosen = TrajectorySearch(component.needs, options, passes, work).best()
    except EffortError:
        return None
    if chosen is None:
        raise EndError
    pulses = sum(int(options[index].pulses[number]) for index, number in chosen.items())
    taken = {index: options[index].trajectories[number] for index, number in chosen.items()}
    return Order(tuple(_holds(component, taken, passes)), pulses, pulses)


def _holds(
    component: Component, taken: Mapping[int, Trajectory], passes: int
) -> Iterator[Positions]:
    """What each pass holds on such trajectories for the needs that it loads, and in the end."""
    left = list(component.needs)
    for number in range(passes):
        at = _standing(taken, number)
        hold = component.end if number == passes - 1 else Positions()
        for need in list(left):
            way = next((way for way in need if not at.missing(way)), None)
            if way is not None:
                left.remove(need)
                hold = hold.then(way)
        yield hold


def _standing(taken: Mapping[int, Trajectory], number: int) -> Positions:
    """Where all actuators stand in one pass."""
    known = thrown = 0
    for index, trajectory in taken.items():
        known |= (trajectory[number] is not None) << index
        thrown |= (trajectory[number] is Position.THROWN) << index
    return Positions(known, thrown)
