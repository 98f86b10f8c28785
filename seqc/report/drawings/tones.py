"""How items look: a colour for the tone that is declared, and a mark of its own for each kind.

So kinds can be told apart without any colour: the first is a plain disc, the second a ring, and so
on. Every kind of a picture is one path of strokes without length, a disc each, which keeps large
pictures small.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple
from xml.etree.ElementTree import Element

from seqc.machine.model import Machine
from seqc.machine.parts import Grid
from seqc.report.drawings.svg import number, tag

TONES = {
    "dark": "dark",
    "black": "dark",
    "light": "light",
    "white": "light",
    "grey": "grey",
    "gray": "grey",
    "silver": "grey",
    "gold": "gold",
    "amber": "gold",
    "yellow": "gold",
    "green": "green",
    "red": "red",
    "blue": "blue",
    "brown": "brown",
    "violet": "violet",
    "purple": "violet",
    "orange": "orange",
}
SPARE_TONES = ("dark", "light", "gold", "green", "red", "blue", "brown", "violet", "orange", "grey")

PLAIN = ""
MARKS = (PLAIN, "h0", "m-.2 0h.4", "m0-.2v.4", "m-.2 0h.4m-.2-.2v.4", "m-.15-.15l.3.3")
"""What is drawn into a disc, from its middle: nothing, a hole, a slit and so on."""

HOLE = "h0"
PAST = 0.01
"""How far a line goes past its last disc, so that no rounding leaves that one out."""

DISC, RIM = 0.76, 0.84
HOLE_WIDTH, SLIT_WIDTH = 0.3, 0.13


_Row = tuple[float, float, int, str]
"""Discs of one kind side by side: where the first is, and how many they are."""


class Look(NamedTuple):
    """How a kind is drawn: the class of its tone, and the path of its mark."""

    kind: str
    tone: str
    mark: str

    @property
    def mark_width(self) -> float:
        """How wide the mark is, as a share of a cell."""
        return HOLE_WIDTH if self.mark == HOLE else SLIT_WIDTH


def looks_of(machine: Machine) -> dict[str, Look]:
    """The look of each kind of a machine, in the order of their declaration."""
    found: dict[str, Look] = {}
    for rank, item in enumerate(machine.items):
        tone = TONES.get(item.tone.lower()) or SPARE_TONES[rank % len(SPARE_TONES)]
        found[item.name] = Look(item.name, f"tone-{tone}", MARKS[rank % len(MARKS)])
    return found


def draw_items(
    parent: Element, looks: Mapping[str, Look], places: Iterable[tuple[float, float, str | None]]
) -> None:
    """Discs of the kinds at places, whose unit is a cell; nothing where the kind is None."""
    rows = [(x, y, 1, kind) for x, y, kind in places if kind is not None and kind in looks]
    _draw_rows(parent, looks, rows)


def draw_picture(
    parent: Element, grid: Grid, kinds: Iterable[str | None], looks: Mapping[str, Look]
) -> None:
    """The items of a picture of a grid, whose cells are one unit wide."""
    rows: list[_Row] = []
    for cell, kind in zip(grid.cells, kinds, strict=True):
        x, y = cell.column - 0.5, cell.row - 0.5
        if rows and rows[-1][1] == y and rows[-1][0] + rows[-1][2] == x and rows[-1][3] == kind:
            rows[-1] = (*rows[-1][:2], rows[-1][2] + 1, rows[-1][3])
        else:
            rows.append((x, y, 1, kind or ""))
    _draw_rows(parent, looks, [row for row in rows if row[3] in looks])


def _draw_rows(parent: Element, looks: Mapping[str, Look], rows: Iterable[_Row]) -> None:
    by_kind: dict[str, list[tuple[float, float, int]]] = {}
    for x, y, count, kind in rows:
        by_kind.setdefault(kind, []).append((x, y, count))
    for kind, spots in by_kind.items():
        look = looks[kind]
        discs = "".join(_dots(x, y, count) for x, y, count in spots)
        tag(parent, "path", "rim dots", d=discs, stroke_width=RIM)
        tag(parent, "path", f"item {look.tone} dots", d=discs, stroke_width=DISC)
        if look.mark == HOLE:
            tag(parent, "path", "mark dots", d=discs, stroke_width=look.mark_width)
        elif look.mark:
            marks = "".join(
                f"M{number(x + step)} {number(y)}{look.mark}"
                for x, y, count in spots
                for step in range(count)
            )
            tag(parent, "path", "mark", d=marks, stroke_width=look.mark_width)


def _dots(x: float, y: float, count: int) -> str:
    """Discs one unit apart: a line whose dashes have no length, a unit from each to the next."""
    return f"M{number(x)} {number(y)}h{number(count - 1 + PAST)}"


def draw_board(parent: Element, grid: Grid, lines: bool = True) -> None:
    """The ground of a grid: one square a cell, or one stretch for cells that are side by side."""
    if lines:
        squares = [f"M{cell.column - 1} {cell.row - 1}h1v1h-1z" for cell in grid.cells]
    else:
        squares = [f"M{first} {row}h{count}v1h-{count}z" for row, first, count in _stretches(grid)]
    tag(parent, "path", "board", d="".join(squares), stroke_width=0.04 if lines else 0)


def _stretches(grid: Grid) -> Iterator[tuple[int, int, int]]:
    """Cells side by side: their row and the first column, from 0, and how many they are."""
    found: list[tuple[int, int, int]] = []
    for cell in grid.cells:
        row, column = cell.row - 1, cell.column - 1
        if found and found[-1][0] == row and sum(found[-1][1:]) == column:
            found[-1] = row, found[-1][1], found[-1][2] + 1
        else:
            found.append((row, column, 1))
    yield from found


def words_of(grid: Grid, kinds: Iterable[str | None]) -> str:
    """A picture in words, row by row: `row 1 slate, 2 chalk, slate`."""
    rows: dict[int, list[str]] = {}
    for cell, kind in zip(grid.cells, kinds, strict=True):
        rows.setdefault(cell.row, []).append(kind or "nothing")
    return "; ".join(f"row {row} {_runs(words)}" for row, words in rows.items())


def _runs(words: list[str]) -> str:
    found: list[tuple[str, int]] = []
    for word in words:
        if found and found[-1][0] == word:
            found[-1] = word, found[-1][1] + 1
        else:
            found.append((word, 1))
    return ", ".join(word if count == 1 else f"{count} {word}" for word, count in found)
