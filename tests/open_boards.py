"""Random boards whose needs leave actuators open: cells are absent, kinds have several routes."""

from __future__ import annotations

from random import Random

from boards import CELL, COLUMN, GRID, KINDS, ROW, SMALL, board, grid_of

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Cell, Feed, Item, Selector

SLATE, CHALK, AMBER = (Item(kind, stock=1_000) for kind in KINDS[:3])


def picked(name: str, rest: Feed, thrown: Feed) -> Branch:
    """A selector for each row, between two inputs."""
    return Branch(Selector(name, ROW, SMALL, 10_000), rest, thrown)


FEEDS: dict[str, Feed] = {
    "a second magazine": picked("pick", SLATE, picked("tint", CHALK, SLATE)),
    "two of each": picked("pick", picked("left", SLATE, CHALK), picked("right", CHALK, SLATE)),
    "one kind twice": picked("pick", picked("left", SLATE, CHALK), picked("right", AMBER, SLATE)),
    "three deep": picked("pick", SLATE, picked("tint", CHALK, picked("shade", SLATE, CHALK))),
}
"""Feeds in which several routes offer one kind."""


def open_board(
    random: Random, rows: int, columns: int, kinds: int, absent: float
) -> tuple[Machine, Glyph]:
    """A selector for each row and kind but one, a metering gate for each column, any picture."""
    cells = [Cell(r, c) for r in range(1, rows + 1) for c in range(1, columns + 1)]
    grid = grid_of(rows, columns, [cell for cell in cells if random.random() < absent])
    machine = board([grid], kinds=kinds, selectors=(ROW,), gates={"drop": COLUMN, "swap": GRID})
    chosen = tuple(random.choice(KINDS[:kinds]) for _ in grid.cells)
    return machine, Glyph("open", "random", "numeral", chosen)


def many_ways(
    random: Random, feed: str, rows: int, columns: int, absent: float = 0.0
) -> tuple[Machine, Glyph]:
    """A board with one of the feeds in each row, a metering gate for each column, any picture."""
    cells = [Cell(r, c) for r in range(1, rows + 1) for c in range(1, columns + 1)]
    grid = grid_of(rows, columns, [cell for cell in cells if random.random() < absent])
    kinds = 3 if feed == "one kind twice" else 2
    machine = board([grid], kinds=kinds, feed=FEEDS[feed], gates={"drop": COLUMN, "swap": GRID})
    chosen = tuple(random.choice(KINDS[:kinds]) for _ in grid.cells)
    return machine, Glyph("many", "random", grid.name, chosen)


def crossed(random: Random, rows: int, columns: int) -> tuple[Machine, Glyph]:
    """Selectors by row and by column, a metering gate for each cell, any picture of three kinds."""
    grid = grid_of(rows, columns)
    gates = {"drop": CELL, "swap": GRID}
    machine = board([grid], kinds=3, selectors=(ROW, COLUMN), gates=gates)
    chosen = tuple(random.choice(KINDS[:3]) for _ in grid.cells)
    return machine, Glyph("crossed", "random", grid.name, chosen)
