"""A glyph as a font file has it, and its placement on a grid."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from seqc.language.declared import Align, FontSource, Seat
from seqc.machine.wording import amount_of

LONGEST_QUOTE = 160


class FontFileError(ValueError):
    """A font file, or one glyph of it, that can't be used; the message says why."""


def brief(words: object) -> str:
    """What another program or a file says, fit to be printed: on one line, printable and short."""
    line = " ".join(str(words)[:LONGEST_QUOTE].split())
    return "".join(sign if sign.isprintable() else "?" for sign in line)


class MisfitError(ValueError):
    """A glyph that its grid can't show; the message says why and by how much."""


class Bitmap(NamedTuple):
    """Rows of bits from the top, the leftmost bit of each the highest of `width`.

    `bottom` is the height of the lower edge of the last row above the baseline: negative where the
    glyph descends below it.
    """

    width: int
    rows: tuple[int, ...]
    bottom: int = 0


@dataclass(frozen=True)
class BitmapFont:
    """The glyphs of a font file by name, each drawn when it is asked for.

    `names` has those that have a name, in the order of the file; `draw` raises FontFileError for a
    glyph that is broken. `remark` is what is doubtful about the file, if anything.
    """

    names: Collection[str]
    draw: Callable[[str], Bitmap]
    remark: str = ""


class Ink(NamedTuple):
    """What is left of a bitmap without the margins that have no ink; `bottom` as there."""

    width: int
    rows: tuple[int, ...]
    bottom: int


def ink_of(bitmap: Bitmap) -> Ink:
    """The bitmap cut to its ink, so that the same font looks alike however a file pads it."""
    inked = [index for index, row in enumerate(bitmap.rows) if row]
    if not inked:
        return Ink(0, (), 0)
    rows = bitmap.rows[inked[0] : inked[-1] + 1]
    union = 0
    for row in rows:
        union |= row
    spare = (union & -union).bit_length() - 1
    below = len(bitmap.rows) - 1 - inked[-1]
    return Ink(
        union.bit_length() - spare, tuple(row >> spare for row in rows), bitmap.bottom + below
    )


@dataclass(frozen=True)
class Placement:
    """Places ink on the grid of a font as its declaration says.

    Narrower ink stands left, centred or right; lower ink sits at the top, in the middle or on the
    baseline, which is the lower edge of a row. Of an odd margin the greater part is to the right
    or below.
    """

    source: FontSource

    @cached_property
    def _offsets(self) -> tuple[int, ...]:
        grid = self.source.grid
        return tuple((cell.row - 1) * grid.columns + cell.column - 1 for cell in grid.cells)

    @cached_property
    def _absent(self) -> tuple[int, ...]:
        grid = self.source.grid
        present = set(self._offsets)
        return tuple(o for o in range(grid.rows * grid.columns) if o not in present)

    def bits(self, bitmap: Bitmap) -> str:
        """A `1` for ink and a `0` for paper for each cell of the grid, in the order of its cells.

        Raises MisfitError where ink would lie beside the grid or on an absent cell.
        """
        picture = self._picture(ink_of(bitmap))
        for offset in self._absent:
            if picture[offset] == "1":
                row, column = divmod(offset, self.source.grid.columns)
                raise MisfitError(
                    f"has ink in row {row + 1} column {column + 1}, which grid"
                    f" {self.source.grid.name} doesn't have"
                )
        if not self._absent:
            return picture
        return "".join(picture[offset] for offset in self._offsets)

    def _picture(self, ink: Ink) -> str:
        grid = self.source.grid
        top = self._top(ink)
        over, under = max(0, -top), max(0, top + len(ink.rows) - grid.rows)
        wide = max(0, ink.width - grid.columns)
        if ink.rows and (over or under or wide):
            raise MisfitError(self._excess(ink, over, under, wide))
        shift = grid.columns - ink.width - self._left(ink)
        blank = "0" * grid.columns
        drawn = [format(row << shift, f"0{grid.columns}b") for row in ink.rows]
        lines = [blank] * top + drawn + [blank] * (grid.rows - top - len(drawn))
        return "".join(lines if drawn else [blank] * grid.rows)

    def _left(self, ink: Ink) -> int:
        spare = self.source.grid.columns - ink.width
        match self.source.align:
            case Align.LEFT:
                return 0
            case Align.CENTRE:
                return spare // 2
            case Align.RIGHT:
                return spare

    def _top(self, ink: Ink) -> int:
        rows = self.source.grid.rows
        match self.source.seat:
            case Seat.TOP:
                return 0
            case Seat.MIDDLE:
                return max(0, rows - len(ink.rows)) // 2
            case Seat.BASELINE:
                return (self.source.baseline_row or rows) - ink.bottom - len(ink.rows)

    def _excess(self, ink: Ink, over: int, under: int, wide: int) -> str:
        grid = self.source.grid
        ways = [
            f"{amount_of(count, unit)} {where}"
            for count, unit, where in (
                (wide, "column", "too wide"),
                (over, "row", "above its top"),
                (under, "row", "below its last row"),
            )
            if count
        ]
        return (
            f"has ink of {amount_of(ink.width, 'column')} by {amount_of(len(ink.rows), 'row')} and"
            f" doesn't fit on grid `{grid.name}` of {amount_of(grid.columns, 'column')} by"
            f" {amount_of(grid.rows, 'row')}: {', '.join(ways)}"
        )
