"""Which glyphs are out of reach: those for which cells of one gate contradict each other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations
from math import comb
from typing import TYPE_CHECKING

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.wiring import Actuator
from seqc.solver.needs import MeteringGroup, joined, needs_of
from seqc.solver.positions import Positions, bits
from seqc.solver.reach.font_needs import FontNeeds, font_needs
from seqc.solver.ways import Ways

if TYPE_CHECKING:
    from seqc.solver.reach.causes import Reach

MOST_SETS = 5_000


def reach_of(machine: Machine, grid: str, glyphs: Iterable[Glyph]) -> Reach | None:
    """What keeps glyphs of one grid out of reach; None where all are within."""
    every = tuple(dict.fromkeys(glyphs))
    needs = font_needs(needs_of(machine, grid), every)
    found = contradictions(needs)
    if not found and len(needs.glyphs) == len(every):
        return None
    from seqc.solver.reach.causes import explained

    return explained(needs, found, every)


@dataclass
class Contradiction:
    """A gate's actuator and the selectors' in dispute, with the bit set of the glyphs.

    `cells` contradict each other in the glyph of the number `first`.
    """

    actuators: tuple[Actuator, ...]
    cells: tuple[int, ...]
    first: int
    glyphs: int = 0


def contradictions(needs: FontNeeds) -> list[Contradiction]:
    """All that keeps cells of one gate from being loaded together."""
    actuators = needs.lane.machine.actuators
    found: dict[tuple[int, ...], Contradiction] = {}
    for group in needs.lane.groups:
        known = 0
        for index, mask in needs.opposed(group.cells).items():
            number = _lowest(mask)
            pair = _pair(needs, group, index, number)
            pair_of = (group.actuator, actuators[index])
            found[group.actuator.index, index] = Contradiction(pair_of, pair, number, mask)
            known |= mask
        for number in bits(needs.by_routes & ~known):
            if lost := _lost_by_routes(needs, group, number):
                key = tuple(actuator.index for actuator in lost.actuators)
                found.setdefault(key, lost).glyphs |= 1 << number
    return list(found.values())


def _lowest(mask: int) -> int:
    return (mask & -mask).bit_length() - 1


def _pair(needs: FontNeeds, group: MeteringGroup, index: int, number: int) -> tuple[int, ...]:
    """The first two cells that need a selector in opposite positions in one glyph."""
    first = [
        next(c for c in group.cells if needs.needs[c][side].get(index, 0) >> number & 1)
        for side in (0, 1)
    ]
    return tuple(sorted(first))


def _lost_by_routes(needs: FontNeeds, group: MeteringGroup, number: int) -> Contradiction | None:
    """What bars all routes to the kinds of a group in one glyph, None if some are free."""
    lane, kinds = needs.lane, needs.glyphs[number].kinds
    if lane.need(group, kinds).possible:
        return None
    cells = smallest_contradiction({cell: lane.offers[cell][kinds[cell]] for cell in group.cells})
    rest = thrown = 0
    for cell in cells:
        for way in lane.offers[cell][kinds[cell]]:
            thrown |= way.thrown
            rest |= way.known & ~way.thrown
    disputed = (lane.machine.actuators[index] for index in bits(rest & thrown))
    return Contradiction((group.actuator, *disputed), tuple(sorted(cells)), number)


def smallest_contradiction(wanted: Mapping[int, Ways]) -> tuple[int, ...]:
    """Of cells that can't all have what they want a set that can't either, but each of its parts.

    It is the smallest one, the first in order of cells, unless there are too many sets of its size.
    """
    first: dict[Ways, int] = {}
    for cell, ways in wanted.items():
        first.setdefault(ways, cell)
    size = 1
    while comb(len(first), size) <= MOST_SETS:
        for some in combinations(first, size):
            if not joined(Positions(), some).possible:
                return tuple(first[ways] for ways in some)
        size += 1
    kept = list(first)
    for ways in first:
        others = [other for other in kept if other != ways]
        if not joined(Positions(), others).possible:
            kept = others
    return tuple(first[ways] for ways in kept)
