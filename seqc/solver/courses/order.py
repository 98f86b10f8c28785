"""The best order of few passes, whatever number of needs share them.

What an actuator does in few passes is one of few courses. The pulses are a sum over the courses
taken, and each need asks of those of its own actuators that some pass fulfils it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import prod

from seqc.machine.parts import Position
from seqc.solver.courses.course import Course, courses
from seqc.solver.courses.elimination import least_choice, turns
from seqc.solver.courses.table import FAR, Table, table_of
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import actuators_in

FEW_PASSES = 7

MOST_NUMBERS = 1 << 24
"""So many numbers one table may have."""

MOST_TRUTHS = 1 << 29
"""So many truths may be found out for the tables of the needs."""


def order_by_courses(component: Component, passes: int) -> Order | None:
    """The order with the fewest pulses within so many passes.

    None where the passes are many or the tables too large. Raises EndError where the end can't be
    met.
    """
    if passes > FEW_PASSES:
        return None
    start, end = component.start, component.end
    every = end.known
    for ways in component.needs:
        every |= actuators_in(ways)
    options = {index: courses(start.of(index), end.of(index), passes) for index in bits(every)}
    sizes = {index: len(option) for index, option in options.items()}
    scopes = {ways: tuple(bits(actuators_in(ways))) for ways in component.needs}
    numbers = {ways: prod(sizes[index] for index in scope) for ways, scope in scopes.items()}
    if sum(len(ways) * passes * number for ways, number in numbers.items()) > MOST_TRUTHS:
        return None
    order = turns(scopes.values(), sizes, MOST_NUMBERS)
    if order is None:
        return None
    tables = [Table((index,), option.pulses) for index, option in options.items()]
    tables += [table_of(ways, passes, options) for ways in component.needs]
    pulses, chosen = least_choice(tables, order)
    if pulses >= FAR:
        raise EndError
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
