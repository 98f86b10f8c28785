"""Random fonts that a machine's linkages put out of reach."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from boards import COLUMN, GRID, KINDS, ROW, SMALL, board, letters

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Cell, Feed, Grid, Item, Linkage, Selector
from seqc.solver.reach.causes import Reach
from seqc.solver.reach.contradictions import reach_of


def why_lost(machine: Machine, glyphs: Sequence[Glyph]) -> Reach:
    """Why glyphs of the first grid are out of reach, some of which must be."""
    reach = reach_of(machine, machine.grids[0].name, glyphs)
    assert reach is not None
    return reach


def is_lost(machine: Machine, glyph: Glyph) -> bool:
    """Whether a glyph is out of reach."""
    return reach_of(machine, glyph.grid, (glyph,)) is not None


def tied_machine(random: Random, rows: int, columns: int, routes: int = 5) -> Machine:
    """A machine of few actuators, a few cells absent, some kinds by several routes."""
    cells = [Cell(r, c) for r in range(1, rows + 1) for c in range(1, columns + 1)]
    kept = tuple(cell for cell in cells if random.random() < 0.9) or tuple(cells[:1])
    grid = Grid("numeral", rows, columns, kept)
    kinds = random.randint(2, 4)
    feeds: list[Feed] = [Item(name) for name in KINDS[:kinds]]
    while len(feeds) < routes and random.random() < 0.3:
        feeds.append(random.choice(feeds[:kinds]))
    random.shuffle(feeds)
    number = 0
    while len(feeds) > 1:
        number += 1
        first, second = (feeds.pop(random.randrange(len(feeds))) for _ in range(2))
        selector = Selector(f"pick{number}", _linkage(random, grid), SMALL, 10_000)
        feeds.append(Branch(selector, first, second))
    gates = {"drop": _linkage(random, grid)}
    return board([grid], kinds=kinds, feed=feeds[0], gates=gates)


def _linkage(random: Random, grid: Grid) -> Linkage:
    present = set(grid.cells)
    drawn = [
        "".join(
            random.choice("abc") if Cell(row, column) in present else "-"
            for column in range(1, grid.columns + 1)
        )
        for row in range(1, grid.rows + 1)
    ]
    return random.choice((GRID, ROW, COLUMN, letters(*drawn)))


def any_glyphs(random: Random, machine: Machine, most: int = 3) -> list[Glyph]:
    """One to `most` pictures of any kinds that the lane offers."""
    lane = machine.lanes[0]
    kinds = [item.name for item in lane.items]
    return [
        Glyph(str(number), "random", lane.grid.name, tuple(random.choices(kinds, k=cells)))
        for number in range(random.randint(1, most))
        for cells in (len(lane.grid.cells),)
    ]
