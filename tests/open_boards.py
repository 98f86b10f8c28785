"""Random boards whose needs leave actuators open: cells are absent, selectors are nested."""

from __future__ import annotations

from random import Random

from boards import COLUMN, GRID, KINDS, ROW, board, grid_of

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell


def open_board(
    random: Random, rows: int, columns: int, kinds: int, absent: float
) -> tuple[Machine, Glyph]:
    """A selector for each row and kind but one, a metering gate for each column, any picture."""
    cells = [Cell(r, c) for r in range(1, rows + 1) for c in range(1, columns + 1)]
    grid = grid_of(rows, columns, [cell for cell in cells if random.random() < absent])
    machine = board([grid], kinds=kinds, selectors=(ROW,), gates={"drop": COLUMN, "swap": GRID})
    chosen = tuple(random.choice(KINDS[:kinds]) for _ in grid.cells)
    return machine, Glyph("open", "random", "numeral", chosen)
