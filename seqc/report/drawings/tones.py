"""How items look: a colour for the tone that is declared, and a mark of its own for each kind.

So kinds can be told apart without any colour: the first is a plain disc, the second a ring, and so
on. Every kind of a picture is one path of strokes without length, a disc each, which keeps large
pictures small.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
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
DISC, RIM = 0.76, 0.84
HOLE_WIDTH, SLIT_WIDTH = 0.3, 0.13


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
    by_kind: dict[str, list[tuple[float, float]]] = {}
    for x, y, kind in places:
        if kind is not None and kind in looks:
            by_kind.setdefault(kind, []).append((x, y))
    for kind, spots in by_kind.items():
        look = looks[kind]
        discs = "".join(f"M{number(x)} {number(y)}h0" for x, y in spots)
        tag(parent, "path", "rim", d=discs, stroke_width=RIM)
        tag(parent, "path", f"item {look.tone}", d=discs, stroke_width=DISC)
        if look.mark:
            marks = "".join(f"M{number(x)} {number(y)}{look.mark}" for x, y in spots)
            tag(parent, "path", "mark", d=marks, stroke_width=look.mark_width)


def draw_picture(
    parent: Element, grid: Grid, kinds: Iterable[str | None], looks: Mapping[str, Look]
) -> None:
    """The items of a picture of a grid, whose cells are one unit wide."""
    spots = zip(grid.cells, kinds, strict=True)
    draw_items(parent, looks, ((cell.column - 0.5, cell.row - 0.5, kind) for cell, kind in spots))


def draw_board(parent: Element, grid: Grid) -> None:
    """The ground of a grid: one square a cell, in one path."""
    squares = "".join(f"M{cell.column - 1} {cell.row - 1}h1v1h-1z" for cell in grid.cells)
    tag(parent, "path", "board", d=squares, stroke_width=0.04)


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
