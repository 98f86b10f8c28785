"""The grid with its linkages: for each part, lines through the cells that one actuator moves.

Cells of one actuator are joined by the shortest tree of straight ways between them (Prim), so a row
is a line, and a letter map shows where its links cross.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from xml.etree.ElementTree import Element

from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Lane, Part, Selector
from seqc.machine.wiring import Actuator
from seqc.report.drawings.svg import Drawing, drawing, tag, write

CELL, GAP, HEAD, MARGIN = 34, 34, 40, 16
LEAST_CELL = 14
WIDEST = 300
BROADEST = 1180
"""Parts stand side by side up to this width, and then below each other."""
NARROW = 20
"""Of cells that are narrower than this only the first and every fifth row and column is named."""

LABELLED = 24
"""A part with more actuators than this has no names in its drawing; the table has them."""


def linkage_drawing(machine: Machine, lane: Lane) -> Drawing:
    """One board for each part of a grid, side by side, with the ties of its actuators."""
    grid = lane.grid
    parts: tuple[Part, ...] = (*lane.selectors, *lane.gates)
    cell = max(LEAST_CELL, min(CELL, WIDEST / max(grid.rows, grid.columns)))
    wide, high = grid.columns * cell, grid.rows * cell
    step = max(wide + 44, 130) + GAP
    across = max(1, min(len(parts), int(BROADEST // step)))
    down = HEAD + high + MARGIN
    size = MARGIN * 2 + step * across, down * -(-len(parts) // across) + MARGIN
    told = "; ".join(
        f"{part.name}: {len(machine.actuators_of(part, grid))} actuators, {part.linkage}"
        for part in parts
    )
    sheet = drawing(*size, f"linkages of {grid.name}", told)
    for rank, part in enumerate(parts):
        x, y = MARGIN + rank % across * step + 24, MARGIN + rank // across * down
        own = machine.actuators_of(part, grid)
        count = "1 actuator" if len(own) == 1 else f"{len(own)} actuators"
        write(sheet.root, x, y + 8, part.name, "strong")
        turned = isinstance(part, Selector) and part.mirrored
        note = "; hollow: mirrored" if turned else ""
        write(sheet.root, x, y + 23, f"{count}, {part.linkage}{note}", "small faint")
        group = tag(sheet.root, "g", transform=f"translate({x:g} {y + HEAD:g})")
        _draw_part(group, machine, lane, own, cell)
    return sheet


def _draw_part(
    group: Element, machine: Machine, lane: Lane, own: Sequence[Actuator], cell: float
) -> None:
    grid = lane.grid
    for index, each in enumerate(grid.cells):
        square = tag(
            group,
            "rect",
            "board spot",
            x=(each.column - 1) * cell,
            y=(each.row - 1) * cell,
            width=cell,
            height=cell,
        )
        square.set("data-grid", str(machine.grids.index(grid)))
        square.set("data-cell", str(index))
    for actuator in own:
        mirrored = actuator.part.mirrored if isinstance(actuator.part, Selector) else ()
        tie = tag(group, "g", "tie")
        tie.set("data-actuator", str(actuator.index))
        ways = "".join(
            f"M{(a.column - 0.5) * cell:g} {(a.row - 0.5) * cell:g}"
            f"L{(b.column - 0.5) * cell:g} {(b.row - 0.5) * cell:g}"
            for a, b in tree(actuator.cells)
        )
        if ways:
            tag(tie, "path", "link", d=ways)
        for spot in actuator.cells:
            x, y = (spot.column - 0.5) * cell, (spot.row - 0.5) * cell
            kind = "knot turned" if spot in mirrored else "knot"
            tag(tie, "circle", kind, cx=x, cy=y, r=max(2.5, cell / 8))
        if len(own) <= LABELLED:
            _label(tie, actuator, cell)


def _label(tie: Element, actuator: Actuator, cell: float) -> None:
    """The actuator's group beside its first cell: left of a row, above a column."""
    first = actuator.cells[0]
    words = actuator.name.rpartition(".")[2]
    if words == actuator.name or len(words) > 3:
        return
    number = int("".join(sign for sign in words if sign.isdecimal()) or 1)
    if cell < NARROW and number % 5 and number != 1:
        return
    if all(spot.column == first.column for spot in actuator.cells):
        write(tie, (first.column - 0.5) * cell, -4 + (first.row - 1) * cell, words, "small middle")
    elif first.column == 1:
        write(tie, -5, (first.row - 0.5) * cell + 4, words, "small end")


def tree(cells: Sequence[Cell]) -> Iterator[tuple[Cell, Cell]]:
    """The pairs of cells that join all of them by the least length (Prim's algorithm)."""
    nearest = dict.fromkeys(cells[1:], cells[0])
    while nearest:
        new = min(nearest, key=lambda cell: (_apart(cell, nearest[cell]), cell))
        yield nearest.pop(new), new
        for cell, joined in nearest.items():
            if _apart(cell, new) < _apart(cell, joined):
                nearest[cell] = new


def _apart(one: Cell, other: Cell) -> int:
    return (one.row - other.row) ** 2 + (one.column - other.column) ** 2
