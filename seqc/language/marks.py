"""Cells of a grid that a drawing marks."""

from __future__ import annotations

from collections.abc import Collection

from seqc.language.declared import Art
from seqc.language.items import is_rectangle
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.parts import Cell, Grid
from seqc.machine.wording import amount_of

MARK = "#"
UNMARKED = ".-"


def marked(art: Art, title: str, findings: Findings) -> frozenset[Cell] | None:
    """The cells that are marked, whatever the grid; None where the drawing is wrong."""
    if not is_rectangle(art, title, findings):
        return None
    found = set()
    for row, signs in enumerate(art.rows, 1):
        for column, sign in enumerate(signs, 1):
            if sign == MARK:
                found.add(Cell(row, column))
            elif sign not in UNMARKED:
                message = f"{title} has {sign!r} at {Cell(row, column)}"
                hint = f"mark cells with `{MARK}` and leave the others `.`"
                findings.error("bad-mark", message, mark_place(art, Cell(row, column)), hint)
                return None
    if not found:
        message = f"{title} marks no cell"
        findings.error("no-mark", message, art.place, f"mark cells with `{MARK}`")
        return None
    return frozenset(found)


def lies_on(art: Art, title: str, grid: Grid, among: Collection[Cell], findings: Findings) -> bool:
    """Whether a drawing has the size of a grid, and marks only some of its cells."""
    related = Related(grid.place, "the grid")
    height, width = len(art.rows), len(art.rows[0])
    if (height, width) != (grid.rows, grid.columns):
        message = (
            f"{title} has {amount_of(height, 'row')} of {width}, but grid `{grid.name}` has "
            f"{grid.rows} of {grid.columns}"
        )
        hint = f"mark cells with `{MARK}` and leave the others `.`"
        findings.error("map-size", message, art.place, hint, related)
        return False
    for row, signs in enumerate(art.rows, 1):
        for column, sign in enumerate(signs, 1):
            if sign == MARK and Cell(row, column) not in among:
                _report_mark(art, Cell(row, column), title, grid, findings)
                return False
    return True


def _report_mark(art: Art, cell: Cell, title: str, grid: Grid, findings: Findings) -> None:
    """Report a cell that is marked where nothing is that the mark could be about."""
    there = cell in grid.index_of
    message = f"{title} marks {cell}, which "
    message += "has no such part" if there else f"grid `{grid.name}` doesn't have"
    related = Related(grid.place, "the grid")
    findings.error("absent-cell", message, mark_place(art, cell), "leave it `.` there", related)


def mark_place(art: Art, cell: Cell) -> Place:
    """Where a cell is drawn."""
    row = art.places[cell.row - 1]
    return Place(row.file, row.line, row.column + cell.column - 1)
