"""The best order of few passes, whatever number of needs share them.

What an actuator does in few passes is one of few courses. The pulses are a sum over the courses
taken, and each need asks of those of its own actuators that some pass fulfils it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from seqc.machine.effort import Work
from seqc.machine.parts import Position
from seqc.solver.courses.course import Course, courses
from seqc.solver.courses.search import CourseSearch
from seqc.solver.passes.colouring import EffortError
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import actuators_in


def order_by_courses(component: Component, passes: int, work: Work) -> Order | None:
    """The order with the fewest pulses within so many passes.

    None where the work doesn't suffice. Raises EndError where the end can't be met.
    """
    start, end = component.start, component.end
    every = end.known
    for ways in component.needs:
        every |= actuators_in(ways)
    options = {index: courses(start.of(index), end.of(index), passes) for index in bits(every)}
    try:
        chosen = CourseSearch(component.needs, options, passes, work).best()
    except EffortError:
        return None
    if chosen is None:
        raise EndError
    pulses = sum(int(options[index].pulses[number]) for index, number in chosen.items())
    taken = {index: options[index].courses[number] for index, number in chosen.items()}
    return Order(tuple(_holds(component, taken, passes)), pulses, pulses)


def _holds(component: Component, taken: Mapping[int, Course], passes: int) -> Iterator[Positions]:
    """What each pass holds on such courses for the needs that it loads, and in the end."""
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


def _standing(taken: Mapping[int, Course], number: int) -> Positions:
    """Where all actuators stand in one pass."""
    known = thrown = 0
    for index, course in taken.items():
        known |= (course[number] is not None) << index
        thrown |= (course[number] is Position.THROWN) << index
    return Positions(known, thrown)
