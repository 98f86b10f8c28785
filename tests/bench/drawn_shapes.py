"""Shapes drawn at any size, for the solver's benchmarks: large areas, as glyphs have them."""

from __future__ import annotations

import math
from collections.abc import Callable

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine

Shape = Callable[[float, float], int]
"""The number of the kind at a place; left to right and top to bottom go from -1 to 1."""


def buoy(x: float, y: float) -> int:
    """A disc with a rim and a round light off its middle."""
    if math.hypot(x, y) > 0.93:
        return 0
    if math.hypot(x, y) > 0.72:
        return 1
    return 2 if math.hypot(x + 0.3, y + 0.2) > 0.35 else 3


def seven(x: float, y: float) -> int:
    """A leaning numeral with a bar."""
    if abs(x - 0.45 + 0.55 * (y + 0.7)) < 0.16 and -0.85 < y < 0.9:
        return 1
    if -0.85 < y < -0.55 and abs(x) < 0.7:
        return 2
    return 3 if abs(y - 0.15 * x) < 0.1 and -0.5 < x < 0.6 else 0


def boat(x: float, y: float) -> int:
    """A hull with two sails over waves."""
    if 0.3 < y < 0.75 and abs(x) < 1.17 - 0.9 * y:
        return 1
    if -0.85 < y < 0.25 and -0.05 < x < 0.68 * (y + 0.85):
        return 2
    if -0.6 < y < 0.25 and -0.88 * (y + 0.6) < x < -0.1:
        return 3
    return 2 if y > 0.8 + 0.06 * math.sin(9 * x) else 0


SHAPES: dict[str, Shape] = {"buoy": buoy, "seven": seven, "boat": boat}


def drawn(machine: Machine, size: int, name: str) -> Glyph:
    """A shape on a square board; kinds that the board doesn't have become its last one."""
    lane = machine.lanes[0]
    shape, kinds, middle = SHAPES[name], [item.name for item in lane.items], (size + 1) / 2
    numbers = (
        shape((cell.column - middle) / (middle - 1), (cell.row - middle) / (middle - 1))
        for cell in lane.grid.cells
    )
    marks = tuple(kinds[min(number, len(kinds) - 1)] for number in numbers)
    return Glyph(name, "drawn", lane.grid.name, marks)
