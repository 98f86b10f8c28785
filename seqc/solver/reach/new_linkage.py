"""Another linkage of a part: which cells move together, as groups and as a letter map to paste."""

from __future__ import annotations

import string
from collections.abc import Hashable, Mapping
from dataclasses import dataclass

from seqc.machine.parts import Cell, Gate, Grid, Linkage, LinkageKind, Part

LETTERS = string.ascii_lowercase + string.ascii_uppercase + string.digits
NO_CELL = "-"
_PLAIN = (LinkageKind.GRID, LinkageKind.COLUMN, LinkageKind.ROW, LinkageKind.CELL)


@dataclass(frozen=True)
class NewLinkage:
    """A part that gets another linkage in one grid: the cells that move together."""

    part: Part
    grid: Grid
    groups: tuple[tuple[Cell, ...], ...]

    @property
    def rows(self) -> tuple[str, ...]:
        """The rows of the letter map; none where the groups are more than the letters."""
        if len(self.groups) > len(LETTERS):
            return ()
        signs = {
            cell: letter
            for letter, cells in zip(LETTERS, self.groups, strict=False)
            for cell in cells
        }
        return tuple(
            "".join(
                signs.get(Cell(row, column), NO_CELL) for column in range(1, self.grid.columns + 1)
            )
            for row in range(1, self.grid.rows + 1)
        )

    @property
    def linkage(self) -> Linkage | None:
        """As a plain linkage where it is one, else as a letter map; None if letters don't do."""
        own = set(map(frozenset, self.groups))
        cells = [cell for cell in self.grid.cells if any(cell in group for group in own)]
        for kind in _PLAIN:
            plain = Linkage(kind).groups(cells)
            if {frozenset(cells) for cells in plain.values()} == own:
                return Linkage(kind)
        return Linkage(LinkageKind.MAP, self.rows) if self.rows else None

    @property
    def setting(self) -> str:
        """What to write in the part's block for its linkage; nothing if letters don't do."""
        if self.linkage is None:
            return ""
        if self.linkage.kind is not LinkageKind.MAP:
            return str(self.linkage)
        return "\n".join(["map {", *(f"    |{row}|" for row in self.rows), "}"])

    @property
    def keyword(self) -> str:
        """How its statement begins."""
        return "gate" if isinstance(self.part, Gate) else "selector"


def linked_anew(part: Part, grid: Grid, label_of: Mapping[Cell, Hashable]) -> NewLinkage:
    """A part linked anew: cells of equal labels together, in the order of their first cells.

    Cells without a label don't have it.
    """
    groups: dict[Hashable, list[Cell]] = {}
    for cell in grid.cells:
        if cell in label_of:
            groups.setdefault(label_of[cell], []).append(cell)
    return NewLinkage(part, grid, tuple(tuple(cells) for cells in groups.values()))
