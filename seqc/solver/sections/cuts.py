"""A section as if each cut through what is wanted of it were an actuator of its own.

How many actuators must move between what one need wants and what another wants is a distance. Taken
apart into cuts, each of which divides all that may be wanted into two sides, it is at least the sum
of those that part the two: H.-J. Bandelt and A. Dress, A canonical decomposition theory for metrics
on a finite set, Advances in Mathematics 92, 1992. What moves from side to side of a cut is then
counted like the moves of an actuator.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement, product

from seqc.solver.positions import Positions, bits
from seqc.solver.sections.section import Section
from seqc.solver.ways import Ways, apart, pulses_to

PULSE = 2
"""Cuts are weighed in halves of a pulse."""

MOST_POINTS = 8
"""Of more different wants only so many are taken apart."""

KEPT_METRICS = 256

START, END = -1, -2

Distances = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """What crossing it costs, and the side of each want, and of the start and the end."""

    weight: int
    sides: Mapping[int, bool]


def cuts_of(section: Section) -> list[Cut]:
    """The cuts of a section: its actuators where no need leaves a choice."""
    points: dict[int, Ways] = {kind: section.wants[kind] for kind in section.kinds}
    if not section.chooses:
        return _actuators({START: (section.start,), END: (section.end,), **points})
    points = dict(list(points.items())[:MOST_POINTS])
    if section.end.known:
        points[END] = (section.end,)
    if not section.preset:
        points[START] = (section.start,)
    distances = [[_distance(points, one, two) for two in points] for one in points]
    return [
        Cut(weight, {point: bool(side >> place & 1) for place, point in enumerate(points)})
        for side, weight in cuts(_shortest(distances))
    ]


def _distance(points: Mapping[int, Ways], one: int, two: int) -> int:
    """The fewest pulses between two points; an unknown actuator takes one from the start."""
    if one == two:
        return 0
    if START in (one, two):
        return pulses_to(points[START][0], points[two if one == START else one])
    return apart(points[one], points[two])


def _actuators(points: Mapping[int, Ways]) -> list[Cut]:
    """A cut for each actuator, of points that each have one way."""
    positions: dict[int, Positions] = {point: ways[0] for point, ways in points.items()}
    spoken = 0
    for at in positions.values():
        spoken |= at.known
    return [
        Cut(
            PULSE,
            {
                point: bool(at.thrown >> index & 1)
                for point, at in positions.items()
                if at.known >> index & 1
            },
        )
        for index in bits(spoken)
    ]


def _shortest(distances: Sequence[Sequence[int]]) -> Distances:
    """No longer than by way of any other point (R. W. Floyd, Algorithm 97, 1962)."""
    rows = [list(row) for row in distances]
    for by, one, two in product(range(len(rows)), repeat=3):
        rows[one][two] = min(rows[one][two], rows[one][by] + rows[by][two])
    return tuple(map(tuple, rows))


@lru_cache(maxsize=KEPT_METRICS)
def cuts(distances: Distances) -> tuple[tuple[int, int], ...]:
    """The cuts of a metric: the points on one side as a bit set, and twice the isolation index."""
    count = len(distances)
    found = []
    for side in range(1, 1 << max(count - 1, 0)):
        here = list(bits(side))
        there = [point for point in range(count) if not side >> point & 1]
        twice = min(
            _isolation(distances, *ones, *others)
            for ones in combinations_with_replacement(here, 2)
            for others in combinations_with_replacement(there, 2)
        )
        if twice > 0:
            found.append((side, twice))
    return tuple(found)


def _isolation(far: Distances, a: int, b: int, c: int, d: int) -> int:
    """By how much a and b are nearer to each other, and c and d, than by any other pairing."""
    own = far[a][b] + far[c][d]
    return max(far[a][c] + far[b][d], far[a][d] + far[b][c], own) - own
