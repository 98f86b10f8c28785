"""Which part of a split actuator each cell goes to, and how to part along whole rows or columns."""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterator, Mapping

from seqc.machine.parts import Cell
from seqc.solver.positions import bits
from seqc.solver.reach.contention import Block, Contention
from seqc.solver.reach.division import fewest_colours

MOST_CELLS = 1_024

Sides = dict[int, dict[int, int]]
"""By actuator and cell, the number of the part that the cell goes to; the first where nothing."""

_LINES: tuple[Callable[[Cell], int], ...] = (
    operator.attrgetter("column"),
    operator.attrgetter("row"),
)


def straightened(contention: Contention, sides: Sides) -> Sides:
    """The same number of parts of each actuator, in whole columns or rows where that can be.

    The parts stay enough: of each actuator only what no other keeps apart is parted anew.
    """
    if any(block.wishes for block in contention.blocks):
        return sides
    result = dict(sides)
    for actuator in sides:
        cells = contention.lane.machine.actuators[actuator].cells
        if len(cells) <= MOST_CELLS:
            result[actuator] = _by_lines(contention, result, actuator) or result[actuator]
    return {actuator: at for actuator, at in result.items() if any(at.values())}


def _by_lines(contention: Contention, sides: Sides, actuator: int) -> dict[int, int] | None:
    """The parts of one actuator in whole lines, or None where they would be more."""
    grid = contention.lane.lane.grid
    own = [grid.index_of[cell] for cell in contention.lane.machine.actuators[actuator].cells]
    pairs = list(_kept_apart(contention, sides, actuator))
    for line_of in _LINES:
        line = {cell: line_of(grid.cells[cell]) for cell in own}
        numbers = {at: number for number, at in enumerate(sorted(set(line.values())))}
        graph = [0] * len(numbers)
        for a, b in pairs:
            graph[numbers[line[a]]] |= 1 << numbers[line[b]]
            graph[numbers[line[b]]] |= 1 << numbers[line[a]]
        if any(mask >> number & 1 for number, mask in enumerate(graph)):
            continue
        classes = fewest_colours(graph).classes
        if len(classes) <= 1 + max(sides[actuator].values()):
            part = {number: at for at, members in enumerate(classes) for number in members}
            return {cell: part[numbers[line[cell]]] for cell in own}
    return None


def _kept_apart(contention: Contention, sides: Sides, actuator: int) -> Iterator[tuple[int, int]]:
    """The pairs of cells at odds that no other actuator keeps apart."""
    for block in contention.blocks:
        for part, masks in enumerate(block.opposed):
            for first, mask in enumerate(masks):
                selector = block.moved_by[first][part]
                other = _other(block, actuator, selector)
                if other is None:
                    continue
                at: Mapping[int, int] = sides.get(other, {})
                for second in bits(mask & (1 << first) - 1):
                    for a in block.members[first]:
                        for b in block.members[second]:
                            if at.get(a, 0) == at.get(b, 0):
                                yield a, b


def _other(block: Block, actuator: int, selector: int) -> int | None:
    """Of a gate and a selector the one that the actuator isn't; None if it is neither."""
    if actuator == block.metering:
        return selector
    return block.metering if actuator == selector else None
