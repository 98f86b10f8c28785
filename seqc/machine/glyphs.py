"""What a machine can be asked to show: glyphs, fonts, frames and programmes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from seqc.machine.findings import NOWHERE, Place
from seqc.machine.parts import Grid
from seqc.machine.tracks import Quiet


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
class Rotation:
    """What one grid shows by itself: the next of its glyphs every `every` frames, round and round.

    In a programme's quiet time it stands still if it `rests`.
    """

    grid: str
    glyphs: tuple[Glyph, ...]
    every: int = 1
    rests: bool = False

    @property
    def round(self) -> int:
        """After so many frames it shows the same again."""
        return self.every * len(self.glyphs)

    def over(self, frames: int, quiet: Quiet | None = None) -> list[Glyph]:
        """What it shows in each of so many frames, which are whole rounds of it."""
        once = [glyph for glyph in self.glyphs for _ in range(self.every)]
        shown = once * (frames // len(once))
        if quiet is None or not self.rests:
            return shown
        still = shown[quiet.start]
        return [still if number in quiet else glyph for number, glyph in enumerate(shown)]


@dataclass(frozen=True, slots=True)
class Programme:
    """Frames in order, one every `every_us`; after the last comes the first again if it repeats.

    Grids that change independently of each other have `rotations`, of which the frames come; those
    of a clock tell the time of day, from midnight on. While it is `quiet`, those that rest
    stand still.
    """

    name: str
    frames: tuple[Frame, ...]
    every_us: int
    repeat: bool = False
    place: Place = NOWHERE
    rotations: tuple[Rotation, ...] = ()
    is_clock: bool = False
    quiet: Quiet | None = None

    @classmethod
    def of_rotations(
        cls,
        name: str,
        rotations: Sequence[Rotation],
        every_us: int,
        place: Place = NOWHERE,
        *,
        is_clock: bool = False,
        quiet: Quiet | None = None,
    ) -> Programme:
        """Rotations side by side, until all of them come round together."""
        count = math.lcm(*(rotation.round for rotation in rotations))
        columns = (rotation.over(count, quiet) for rotation in rotations)
        frames = tuple(Frame(glyphs) for glyphs in zip(*columns, strict=True))
        return cls(name, frames, every_us, True, place, tuple(rotations), is_clock, quiet)

    def once(self, rotation: Rotation) -> list[Glyph]:
        """What one of its rotations shows until it comes round."""
        rests = rotation.rests and self.quiet is not None
        return rotation.over(len(self.frames) if rests else rotation.round, self.quiet)

    @property
    def glyphs(self) -> tuple[Glyph, ...]:
        """Every glyph that it shows, once."""
        rows = self.rotations and [rotation.glyphs for rotation in self.rotations]
        return tuple(dict.fromkeys(glyph for row in rows or self.frames for glyph in row))
