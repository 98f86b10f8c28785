"""Font sources and declared machines for the tests of fonts."""

from __future__ import annotations

import pathlib
from collections.abc import Iterable, Sequence
from typing import Any

from boards import board, grid_of

from seqc.fonts import dress
from seqc.language.declared import (
    Art,
    Declared,
    DrawnGlyph,
    FontFile,
    FontSource,
    Mark,
    ProgrammeSource,
    ShowSource,
)
from seqc.machine.findings import Findings, Place
from seqc.machine.glyphs import Font, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Grid

INK, PAPER = "slate", "chalk"
SIGNS = {INK: "#", PAPER: "."}
FILE_PLACE = Place("board.lanes", 9, 20, 12)


def place(line: int, column: int = 1) -> Place:
    """A place in the machine file."""
    return Place("board.lanes", line, column)


def marks(*pairs: str) -> tuple[Mark, ...]:
    """Marks from pairs such as `#slate`, one a line from line 11 on."""
    return tuple(Mark(pair[:1], pair[1:], place(11 + i)) for i, pair in enumerate(pairs))


def drawn(name: str, *rows: str, line: int = 20) -> DrawnGlyph:
    """A glyph drawn from `line` on, its first mark in column 10."""
    spots = tuple(Place("board.lanes", line + 1 + i, 10, len(row)) for i, row in enumerate(rows))
    return DrawnGlyph(name, Art(rows, spots, place(line, 9)), place(line, 5))


def from_file(path: pathlib.Path, grid: Grid, **settings: Any) -> FontSource:  # noqa: ANN401
    """A font from a file, slate on chalk."""
    file = FontFile(path, INK, PAPER, FILE_PLACE)
    return FontSource("plain", grid, file=file, place=place(9), **settings)


def show(text: str, grid: str = "numeral", font: str = "plain", line: int = 40) -> ShowSource:
    """A show of a programme."""
    return ShowSource(text, grid, font, Place("board.lanes", line, 8, len(text) + 2))


def declared(fonts: Iterable[FontSource], shows: Sequence[ShowSource] = ()) -> Declared:
    """A machine of four kinds with these fonts and, if it shows anything, one programme."""
    sources = tuple(fonts)
    grids = {source.grid.name: source.grid for source in sources} or {"numeral": grid_of(6, 4)}
    programmes = (ProgrammeSource("count", tuple(shows), 1_000_000, True, place(39)),)
    machine = board(list(grids.values()), kinds=4)
    return Declared(machine, sources, programmes if shows else ())


def dressed(
    source: FontSource, text: str = "", wanted: str = "", whole: bool = False
) -> tuple[Machine, Findings]:
    """A machine with one font, and a programme if a text is given."""
    findings = Findings()
    shows = [show(text, source.grid.name, source.name)] if text else []
    return dress(declared([source], shows), findings, wanted=wanted, whole=whole), findings


def picture(glyph: Glyph, grid: Grid) -> list[str]:
    """The rows of a glyph, `#` for slate and `.` for chalk; absent cells are spaces."""
    rows = [[" "] * grid.columns for _ in range(grid.rows)]
    for cell, kind in zip(grid.cells, glyph.kinds, strict=True):
        rows[cell.row - 1][cell.column - 1] = SIGNS[kind]
    return ["".join(row) for row in rows]


def picture_in(font: Font, name: str) -> list[str]:
    """The rows of a glyph of a font."""
    return picture(font.by_name[name], font.grid)


def told(findings: Findings) -> list[str]:
    """Each finding as `severity line:column code`."""
    return [f"{f.severity.value} {f.place.line}:{f.place.column} {f.code}" for f in findings]
