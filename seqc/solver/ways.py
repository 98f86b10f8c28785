"""What must hold so that a gate may be cycled: any one of several ways.

A way is a set of positions that must hold together. Ways are kept as all prime implicants of the
condition (Blake's canonical form), fewest positions first: no way contains another, and every
state of the machine in which the condition is sure to hold contains one of them.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

from seqc.solver.positions import Positions

Ways = tuple[Positions, ...]

Conditions = tuple[Ways, ...]
"""What must hold together: several conditions, no two of which speak of one actuator."""

ALWAYS: Ways = (Positions(),)
NEVER: Ways = ()


def absorbed(ways: Iterable[Positions]) -> Ways:
    """The ways without those that contain another."""
    kept: list[Positions] = []
    for way in sorted(set(ways), key=_rank):
        if not any(way.missing(less) == 0 for less in kept):
            kept.append(way)
    return tuple(kept)


def _rank(way: Positions) -> tuple[int, int, int]:
    return way.known.bit_count(), way.known, way.thrown


def without(ways: Ways, actuators: int) -> Ways:
    """What the ways want of all but a bit set of actuators."""
    if len(ways) == 1:
        return (ways[0].within(~actuators),)
    return absorbed(way.within(~actuators) for way in ways)


def both(first: Ways, second: Ways) -> Ways:
    """The ways in which both conditions hold."""
    if len(first) == len(second) == 1:
        return (first[0].then(second[0]),) if first[0].meet(second[0]) else NEVER
    return absorbed(a.then(b) for a in first for b in second if a.meet(b))


def beside(first: Ways, second: Ways) -> Ways:
    """The ways in which both of two conditions hold that have no actuator in common.

    None contains another then, which takes long to find out of many.
    """
    return tuple(sorted((a.then(b) for a in first for b in second), key=_rank))


def prime(ways: Iterable[Positions]) -> Ways:
    """All prime implicants of the condition that any of the ways fulfils, by iterated consensus.

    W. V. Quine, A way to simplify truth functions, 1955: two ways opposed in one actuator give a
    third, in which that actuator is free.
    """
    found = absorbed(ways)
    while True:
        more = [
            Positions(way.known & ~odd, way.thrown & ~odd)
            for a, b in itertools.combinations(found, 2)
            if (odd := a.opposed(b)).bit_count() == 1
            for way in [a.then(b)]
        ]
        grown = absorbed((*found, *more))
        if grown == found:
            return found
        found = grown


def agree(first: Ways, second: Ways) -> bool:
    """Whether both conditions can hold at one time."""
    return any(a.meet(b) for a in first for b in second)


def implied(ways: Ways, by: Ways) -> bool:
    """Whether the first condition holds wherever the second does."""
    return all(any(strict.missing(way) == 0 for way in ways) for strict in by)


def pulses_to(positions: Positions, ways: Ways) -> int:
    """The fewest actuators to pulse so that the condition holds."""
    if len(ways) == 1:
        return positions.missing(ways[0]).bit_count()
    return min(positions.missing(way).bit_count() for way in ways)


def apart(first: Ways, second: Ways) -> int:
    """The fewest actuators that must move between a time of the first and one of the second."""
    return min(a.opposed(b).bit_count() for a in first for b in second)


def can_meet(first: Conditions, second: Conditions) -> bool:
    """Whether no condition of the one contradicts one of the other."""
    return all(agree(a, b) for a in first for b in second)


def least_moves(first: Conditions, second: Conditions) -> int:
    """A number of actuators that must move between a time of the first and one of the second."""
    return sum(
        min(sum(apart((way,), ways) for ways in second) for way in several) for several in first
    )


def least_pulses_to(positions: Positions, conditions: Conditions) -> int:
    """The fewest actuators to pulse so that all conditions hold."""
    return sum(pulses_to(positions, ways) for ways in conditions)


def complete(needs: Sequence[Ways]) -> bool:
    """Whether each need has one way, and all speak of the same actuators."""
    return all(len(ways) == 1 and ways[0].known == needs[0][0].known for ways in needs)


def steps_between(needs: Sequence[Ways]) -> list[list[int]]:
    """For any two needs the fewest actuators that must move between their times."""
    if complete(needs):
        codes = [ways[0].thrown for ways in needs]
        return [[(a ^ b).bit_count() for b in codes] for a in codes]
    return [[apart(a, b) for b in needs] for a in needs]


def in_all(ways: Ways) -> Positions:
    """What every one of the ways wants."""
    rest = thrown = -1
    for way in ways:
        rest &= way.known & ~way.thrown
        thrown &= way.thrown
    return Positions(rest | thrown, thrown)


def actuators_in(ways: Ways) -> int:
    """The bit set of actuators that any of the ways speaks of."""
    mask = 0
    for way in ways:
        mask |= way.known
    return mask
