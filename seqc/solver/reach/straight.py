"""Splits along whole rows or columns, where that takes no more parts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from seqc.solver.positions import bits
from seqc.solver.reach.conflict_graph import Component
from seqc.solver.reach.font_needs import FontNeeds
from seqc.solver.reach.partition import fewest_colours
from seqc.solver.reach.splits import LINES

MOST_CELLS = 1_024

PartOf = dict[int, dict[int, int]]
"""By actuator and cell, the number of the part that the cell goes to; the first where nothing."""


def straightened(needs: FontNeeds, found: tuple[Component, ...], part_of: PartOf) -> PartOf:
    """The same number of parts of each actuator, in whole columns or rows where that can be.

    The parts stay enough: of each actuator only what no other keeps apart is parted anew.
    """
    result = dict(part_of)
    for actuator in part_of:
        if len(needs.lane.machine.actuators[actuator].cells) <= MOST_CELLS:
            pairs = list(_kept_apart(found, result, actuator))
            result[actuator] = _by_lines(needs, result, actuator, pairs) or result[actuator]
    return {actuator: at for actuator, at in result.items() if any(at.values())}


def _by_lines(
    needs: FontNeeds, part_of: PartOf, actuator: int, pairs: list[tuple[int, int]]
) -> dict[int, int] | None:
    """The parts of one actuator in whole lines, or None where they would be more."""
    grid = needs.lane.lane.grid
    own = [grid.index_of[cell] for cell in needs.lane.machine.actuators[actuator].cells]
    for line_of in LINES.values():
        line = {cell: line_of(grid.cells[cell]) for cell in own}
        numbers = {at: number for number, at in enumerate(sorted(set(line.values())))}
        graph = [0] * len(numbers)
        for a, b in pairs:
            graph[numbers[line[a]]] |= 1 << numbers[line[b]]
            graph[numbers[line[b]]] |= 1 << numbers[line[a]]
        if any(mask >> number & 1 for number, mask in enumerate(graph)):
            continue
        classes = fewest_colours(graph).classes
        if len(classes) <= 1 + max(part_of[actuator].values()):
            part = {number: at for at, members in enumerate(classes) for number in members}
            return {cell: part[numbers[line[cell]]] for cell in own}
    return None


def _kept_apart(
    found: tuple[Component, ...], part_of: PartOf, actuator: int
) -> Iterator[tuple[int, int]]:
    """The pairs of cells in conflict that no other actuator keeps apart."""
    for component in found:
        for part, masks in enumerate(component.conflicts):
            for first, mask in enumerate(masks):
                selector = component.selectors[first][part]
                if actuator not in (component.gate, selector):
                    continue
                other = selector if actuator == component.gate else component.gate
                at: Mapping[int, int] = part_of.get(other, {})
                for second in bits(mask & (1 << first) - 1):
                    for a in component.vertices[first]:
                        for b in component.vertices[second]:
                            if at.get(a, 0) == at.get(b, 0):
                                yield a, b
