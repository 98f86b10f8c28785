"""The notation for texts to show, the same in programmes and in the commands.

Each character names a glyph; `{wave}` names a glyph of several letters; `{{` and `}}` are the
braces themselves.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

PIECE = re.compile(r"\{\{|\}\}|\{([^{}]+)\}|[^{}]", re.DOTALL)


class TextError(ValueError):
    """A text that can't be read as glyph names; `offset` counts characters from 0."""

    def __init__(self, message: str, offset: int) -> None:
        super().__init__(message)
        self.offset = offset


class Span(NamedTuple):
    """A glyph name in a text, and the stretch of the text that names it."""

    name: str
    offset: int
    length: int


def glyph_names(text: str) -> tuple[str, ...]:
    """The names of the glyphs that a text shows, in order.

    Raises TextError, with the offset, for a brace that has no partner or nothing between it and
    its partner.
    """
    return tuple(span.name for span in glyph_spans(text))


def glyph_spans(text: str) -> tuple[Span, ...]:
    """The names of the glyphs that a text shows with their stretches; raises as `glyph_names`."""
    if "{" not in text and "}" not in text:
        return tuple(Span(name, offset, 1) for offset, name in enumerate(text))
    return tuple(_spans(text))


def _spans(text: str) -> Iterator[Span]:
    offset = 0
    while offset < len(text):
        piece = PIECE.match(text, offset)
        if piece is None:
            raise TextError(_complaint(text, offset), offset)
        yield Span(piece[1] or piece[0][0], offset, len(piece[0]))
        offset = piece.end()


def _complaint(text: str, offset: int) -> str:
    if text[offset] == "}":
        return "this brace closes nothing"
    if text.startswith("{}", offset):
        return "there is no name between these braces"
    return "this brace is never closed"


def text_of(names: tuple[str, ...]) -> str:
    """The text that shows glyphs of these names: the inverse of `glyph_names`."""
    return "".join(_written(name) for name in names)


def _written(name: str) -> str:
    if name in "{}":
        return 2 * name
    return name if len(name) == 1 else f"{{{name}}}"
