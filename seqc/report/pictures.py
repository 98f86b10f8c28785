"""Frames and glyphs as text, a sign for each kind of item."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Grid
from seqc.machine.signs import UNSEEN, signs_of
from seqc.report.tones import painted, width

ABSENT = " "


def toned_signs(machine: Machine) -> dict[str, str]:
    """The signs, each in the colours of its tone where the terminal has any."""
    tones = {item.name: item.tone for item in machine.items}
    return {name: painted(sign, tones[name]) for name, sign in signs_of(machine).items()}


def legend(machine: Machine) -> str:
    """The signs and what they stand for, in one line."""
    return "  ".join(f"{sign} {name}" for name, sign in toned_signs(machine).items())


def picture(grid: Grid, kinds: Sequence[str | None], signs: Mapping[str, str]) -> list[str]:
    """The rows of a picture; `kinds` go with the cells of the grid, None for nothing there.

    What isn't there and what isn't known have one sign.
    """
    at = dict(zip(grid.cells, kinds, strict=True))
    return [
        " ".join(_sign(at, Cell(row, column), signs) for column in range(1, grid.columns + 1))
        for row in range(1, grid.rows + 1)
    ]


def marked_picture(
    grid: Grid, kinds: Sequence[str], wanted: Sequence[str], signs: Mapping[str, str]
) -> list[str]:
    """The rows of a picture in which every cell that is not as wanted stands in parentheses."""
    at: dict[Cell, str | None] = dict(zip(grid.cells, kinds, strict=True))
    asked = dict(zip(grid.cells, wanted, strict=True))
    rows = [
        [Cell(row, column) for column in range(1, grid.columns + 1)]
        for row in range(1, grid.rows + 1)
    ]
    return [
        "".join(_marked(_sign(at, cell, signs), at.get(cell) != asked.get(cell)) for cell in row)
        for row in rows
    ]


def _marked(sign: str, wrong: bool) -> str:
    return f"({sign})" if wrong else f" {sign} "


def _sign(at: Mapping[Cell, str | None], cell: Cell, signs: Mapping[str, str]) -> str:
    if cell not in at:
        return ABSENT
    return signs.get(at[cell] or "", UNSEEN)


def beside(blocks: Sequence[Sequence[str]], gap: str = "   ") -> list[str]:
    """Blocks of text set side by side, their tops level."""
    height = max((len(block) for block in blocks), default=0)
    widths = [max(map(width, block), default=0) for block in blocks]
    lines = []
    for number in range(height):
        rows = (block[number] if number < len(block) else "" for block in blocks)
        parts = [
            row + " " * (columns - width(row)) for row, columns in zip(rows, widths, strict=True)
        ]
        lines.append(gap.join(parts).rstrip())
    return lines
