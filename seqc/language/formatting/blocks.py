"""Blocks over several lines: settings on the lines on which they stand, long lines broken."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.language.formatting.lexemes import (
    Lexeme,
    comments,
    is_broken,
    spaced,
    without_comments,
)
from seqc.language.formatting.lines import GAP, INDENT, WIDTH, Line, commented, indented, opened
from seqc.language.formatting.units import Unit

ROOM = WIDTH - INDENT


def block_lines(parts: Sequence[Unit | Lexeme]) -> list[Line]:
    """The lines between the braces of a block, indented."""
    rows = _Rows()
    for part in parts:
        rows.break_before(part.breaks)
        if isinstance(part, Unit):
            rows.add(unit_lines(part))
        else:
            rows.comment(part)
    rows.end_row()
    return indented(rows.lines)


class _Rows:
    """Collects the lines of a block; `row` are the settings of the line that is being filled."""

    def __init__(self) -> None:
        self.lines: list[Line] = []
        self.row: list[str] = []

    def break_before(self, breaks: int) -> None:
        """End the line where the text ends one, and keep one of the empty lines after it."""
        if breaks:
            self.end_row()
        if breaks > 1 and self.lines:
            self.lines.append(Line())

    def add(self, lines: Sequence[Line]) -> None:
        """Put a setting on the line, or on lines of its own."""
        first = lines[0].text
        if len(lines) == 1 and not lines[0].comment:
            if self.row and len(GAP.join([*self.row, first])) > ROOM:
                self.end_row()
            self.row.append(first)
            return
        self.end_row()
        self.lines += lines

    def comment(self, lexeme: Lexeme) -> None:
        """Put a comment behind what stands on its line, or on a line of its own."""
        self.end_row()
        if lexeme.breaks or not self.lines:
            self.lines.append(Line("", 0, lexeme.text))
        else:
            self.lines = commented(self.lines, [lexeme.text])

    def end_row(self) -> None:
        """Go on to the next line."""
        if self.row:
            self.lines.append(Line(GAP.join(self.row)))
            self.row = []


def unit_lines(unit: Unit) -> list[Line]:
    """A setting on one line, or over several where rows are drawn on lines of their own."""
    brace = next((i for i, one in enumerate(unit.lexemes) if one.kind == "LBRACE"), None)
    if brace is None:
        return commented([Line(inline(unit))], comments(unit.lexemes))
    art = unit.lexemes[brace + 1 :]
    if not is_broken(art) and not comments(unit.lexemes) and len(inline(unit)) <= ROOM:
        return [Line(inline(unit))]
    head = unit.lexemes[:brace]
    lines = opened(spaced(without_comments(head)), comments(head))
    return art_lines(lines, art)


def art_lines(lines: list[Line], art: Sequence[Lexeme]) -> list[Line]:
    """After what opens it the rows of a drawing, each on a line, and its closing brace."""
    at = next(i for i, one in enumerate(art) if one.kind == "RBRACE")
    for lexeme in art[:at]:
        if not lexeme.is_comment:
            lines.append(Line(lexeme.text, INDENT))
        elif lexeme.breaks or lines[-1].comment:
            lines.append(Line("", INDENT, lexeme.text))
        else:
            lines = commented(lines, [lexeme.text])
    return [*lines, Line("}")]


def inline(unit: Unit) -> str:
    """A setting on one line, without its comments."""
    return spaced(without_comments(unit.lexemes))
