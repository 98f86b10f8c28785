"""What the language hands on: the machine without its fonts, and the fonts still to be drawn."""

from __future__ import annotations

import pathlib
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from seqc.machine.findings import NOWHERE, Place
from seqc.machine.model import Machine
from seqc.machine.parts import Grid


class Art(NamedTuple):
    """Rows drawn between bars, without the bars, and the place of each row's first mark."""

    rows: tuple[str, ...]
    places: tuple[Place, ...]
    place: Place


class Mark(NamedTuple):
    """A character of glyph art and the item that it stands for."""

    sign: str
    item: str
    place: Place


class DrawnGlyph(NamedTuple):
    """A glyph drawn in the language; `name` is a character or a word."""

    name: str
    art: Art
    place: Place


class Align(Enum):
    """Where a glyph narrower than its grid stands."""

    LEFT = "left"
    CENTRE = "centre"
    RIGHT = "right"


class Seat(Enum):
    """Where a glyph lower than its grid sits."""

    TOP = "top"
    MIDDLE = "middle"
    BASELINE = "baseline"


class FontFile(NamedTuple):
    """A bitmap font file: the items of its dark and light bits, and the place of its name."""

    path: pathlib.Path
    ink: str
    paper: str
    place: Place


class FontSource(NamedTuple):
    """A font as declared; its baseline is under row `baseline_row`, the last if None."""

    name: str
    grid: Grid
    marks: tuple[Mark, ...] = ()
    glyphs: tuple[DrawnGlyph, ...] = ()
    file: FontFile | None = None
    align: Align = Align.CENTRE
    seat: Seat = Seat.MIDDLE
    baseline_row: int | None = None
    place: Place = NOWHERE


class ShowSource(NamedTuple):
    """A text to show on a grid in a font; both are known by name once the language has read it.

    Of its glyphs only every `step`-th counts, from number `first` on: the others are for the other
    copies of the grid. The next one comes every `every` frames.
    """

    text: str
    grid: str
    font: str
    place: Place
    first: int = 0
    step: int = 1
    every: int = 1


class ProgrammeSource(NamedTuple):
    """A programme as declared; its shows, one a grid, run in step unless each rotates by itself.

    A clock tells the time of day, from midnight on. From one minute of the day to before another it
    is `quiet`.
    """

    name: str
    shows: tuple[ShowSource, ...]
    every_us: int
    repeat: bool
    place: Place
    rotates: bool = False
    is_clock: bool = False
    quiet: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class Declared:
    """A whole machine file, its includes among it."""

    machine: Machine
    fonts: tuple[FontSource, ...]
    programmes: tuple[ProgrammeSource, ...]
