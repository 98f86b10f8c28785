"""Places of the reader, counted from 1 in characters, and positions of the protocol."""

from __future__ import annotations

from collections.abc import Sequence

from lsprotocol.types import Position, Range
from pygls.workspace import PositionCodec

from seqc.editor.actions import Edit
from seqc.machine.findings import Place


class Positions:
    """Turns places in some lines of text into positions, in the units that the editor counts."""

    def __init__(self, lines: Sequence[str], codec: PositionCodec) -> None:
        self.lines = lines
        self.codec = codec

    def range_of(self, place: Place) -> Range:
        """The range of a place; that of the first character where it is nowhere in the text."""
        line, column = max(1, place.line), max(1, place.column)
        return self.range_between(line, column, line, column + max(0, place.length))

    def range_of_edit(self, edit: Edit) -> Range:
        """The range that an edit replaces."""
        return self.range_between(edit.line, edit.column, edit.end_line, edit.end_column)

    def range_between(self, line: int, column: int, end_line: int, end_column: int) -> Range:
        """The range between two positions, counted from 1."""
        return Range(self._position(line, column), self._position(end_line, end_column))

    def whole(self) -> Range:
        """The range of the whole text."""
        return self.range_between(1, 1, len(self.lines), len(self.lines[-1]) + 1)

    def place_at(self, position: Position) -> tuple[int, int]:
        """The line and the column of a position, counted from 1."""
        line = min(position.line, len(self.lines) - 1)
        units = 0
        for column, character in enumerate(self.lines[line], 1):
            if units >= position.character:
                return line + 1, column
            units += self.codec.client_num_units(character)
        return line + 1, len(self.lines[line]) + 1

    def before(self, position: Position) -> str:
        """The text before a position."""
        line, column = self.place_at(position)
        return "\n".join([*self.lines[: line - 1], self.lines[line - 1][: column - 1]])

    def _position(self, line: int, column: int) -> Position:
        row = min(line, len(self.lines)) - 1
        before = self.lines[row][: column - 1]
        return Position(row, self.codec.client_num_units(before))
