"""What a machine can be asked to show: glyphs, fonts, frames and programmes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from seqc.machine.findings import NOWHERE, Place
from seqc.machine.parts import Grid


@dataclass(frozen=True, slots=True)
class Glyph:
    """A picture for one grid: the name of the item in each cell, in the order of its cells."""

    name: str
    font: str
    grid: str
    kinds: tuple[str, ...]
    place: Place = NOWHERE

    def __repr__(self) -> str:
        return f"<glyph {self.name!r} of {self.font}>"


@dataclass(frozen=True)
class Font:
    """A set of glyphs for one grid, each under a name; a single character is the usual name."""

    name: str
    grid: Grid
    glyphs: tuple[Glyph, ...]
    place: Place = NOWHERE

    @cached_property
    def by_name(self) -> dict[str, Glyph]:
        """The glyphs by their names."""
        return {glyph.name: glyph for glyph in self.glyphs}


@dataclass(frozen=True, slots=True)
class Frame:
    """What the board shows at one time: at most one glyph a grid; other grids stay as they are."""

    glyphs: tuple[Glyph, ...]

    @property
    def name(self) -> str:
        """The names of its glyphs, joined by spaces."""
        return " ".join(glyph.name for glyph in self.glyphs)

    def __iter__(self) -> Iterator[Glyph]:
        return iter(self.glyphs)


@dataclass(frozen=True, slots=True)
class Programme:
    """Frames in order, one every `every_us`; after the last comes the first again if it repeats."""

    name: str
    frames: tuple[Frame, ...]
    every_us: int
    repeat: bool = False
    place: Place = NOWHERE
