"""What the solver's benchmarks share: unifont on a 16 by 16 board, plain orders, memory."""

from __future__ import annotations

import os
import resource
from collections.abc import Sequence
from pathlib import Path
from random import Random

from boards import COLUMN, GRID, ROW, board, grid_of

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell

UNIFONT = Path("/usr/share/unifont/unifont.hex")
"""From the Debian package `unifont`."""

SIZE = 16


def square_board(size: int) -> Machine:
    """Two kinds, a selector for each row, a metering gate for each column."""
    gates = {"drop": COLUMN, "swap": GRID}
    return board([grid_of(size, size)], selectors=(ROW,), gates=gates)


def open_board(size: int, kinds: int, absent: float, random: Random) -> Machine:
    """As the square board, with so many kinds by nested selectors, and a share of cells absent."""
    cells = [Cell(row, column) for row in range(1, size + 1) for column in range(1, size + 1)]
    gone = [cell for cell in cells if random.random() < absent]
    gates = {"drop": COLUMN, "swap": GRID}
    grids = [grid_of(size, size, gone)]
    return board(grids, kinds=kinds, selectors=(ROW,) * (kinds - 1), gates=gates)


def unifont() -> list[Glyph]:
    """Every glyph of unifont, those of 8 columns in the middle of the board."""
    glyphs = []
    for line in UNIFONT.read_text().splitlines():
        code, digits = line.split(":")
        columns = len(digits) // 4
        rows = [digits[row * columns // 4 :][: columns // 4] for row in range(SIZE)]
        blank = (SIZE - columns) // 2
        marks = "".join(f"{int(row, 16) << blank:016b}" for row in rows)
        kinds = tuple("chalk" if mark == "1" else "slate" for mark in marks)
        glyphs.append(Glyph(code, "unifont", "numeral", kinds))
    return glyphs


def column_codes(glyph: Glyph, size: int = SIZE) -> list[int]:
    """The chalk cells of each column as bits."""
    return [
        sum((glyph.kinds[row * size + column] == "chalk") << row for row in range(size))
        for column in range(size)
    ]


def left_to_right(codes: Sequence[int], start: int = 0) -> int:
    """Selector pulses of the different columns as they come from the left."""
    pulses = 0
    for code in dict.fromkeys(codes):
        pulses += (start ^ code).bit_count()
        start = code
    return pulses


def every_selector(codes: Sequence[int], size: int = SIZE) -> int:
    """Selector pulses when every pass sets every selector."""
    return size * len(set(codes))


def peak_mib() -> int:
    """The most memory that this process and a child for each core can have held, in MiB."""
    own, children = (
        resource.getrusage(who).ru_maxrss
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return (own + (os.cpu_count() or 1) * children) // 1024
