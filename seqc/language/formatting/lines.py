"""Lines of a laid-out text, and the column of the comments at their ends."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

WIDTH = 100
INDENT = 4
GAP = "  "


@dataclass(frozen=True, slots=True)
class Line:
    """A line: how far it is indented, what it says, and the comment after that."""

    text: str = ""
    indent: int = 0
    comment: str = ""

    @property
    def before(self) -> str:
        """All but the comment."""
        return " " * self.indent + self.text


def indented(lines: Iterable[Line]) -> list[Line]:
    """The lines one step further in."""
    return [Line(line.text, line.indent + INDENT, line.comment) for line in lines]


def commented(lines: Sequence[Line], notes: Sequence[str]) -> list[Line]:
    """Lines with comments after the last of them, any but the first on lines of their own."""
    if not notes:
        return list(lines)
    last = lines[-1]
    if last.comment or not last.text:
        return [*lines, *(Line("", last.indent, note) for note in notes)]
    further = (Line("", last.indent, note) for note in notes[1:])
    return [*lines[:-1], Line(last.text, last.indent, notes[0]), *further]


def opened(text: str, notes: Sequence[str]) -> list[Line]:
    """A line that ends in a brace, with comments after it, any but the first inside of it."""
    further = (Line("", INDENT, note) for note in notes[1:])
    return [Line(f"{text} {{", 0, "".join(notes[:1])), *further]


def texts(lines: Iterable[Line]) -> Iterator[str]:
    """Lines as text; comments at the ends of lines one below the other stand in one column."""
    for (has_comment, _), run in itertools.groupby(lines, _column):
        together = list(run)
        yield from _aligned(together) if has_comment else map(_plain, together)


def _column(line: Line) -> tuple[bool, int]:
    return bool(line.text and line.comment), line.indent


def _aligned(run: Sequence[Line]) -> Iterator[str]:
    width = max(len(line.before) for line in run)
    return (f"{line.before:<{width}}{GAP}{line.comment}" for line in run)


def _plain(line: Line) -> str:
    return f"{line.before}{line.comment}".rstrip()
