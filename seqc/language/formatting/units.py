"""The settings of a block as units that no line break parts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.language.formatting.lexemes import Lexeme
from seqc.language.formatting.written import Written
from seqc.language.settings import Segment, segments

UNKNOWN = ""


@dataclass(frozen=True, slots=True)
class Unit:
    """A setting with all that continues it; `key` is that of the setting, if it is known."""

    key: str
    lexemes: Sequence[Lexeme]

    @property
    def breaks(self) -> int:
        """How many lines end before it."""
        return self.lexemes[0].breaks


def units(one: Written) -> Iterator[Unit | Lexeme]:
    """The settings of a block, and the comments between them, in order."""
    assert one.block is not None
    rest = iter(_pieces(one.block[:-1]))
    waiting: Unit | None = None
    for segment in segments(one.statement):
        between, own = _taken(rest, len(segment.pieces))
        if waiting is not None and _continues(segment) and not between:
            waiting = Unit(waiting.key, [*waiting.lexemes, *own])
            continue
        if waiting is not None:
            yield waiting
        yield from between
        waiting = Unit(segment.entry.key if segment.entry else UNKNOWN, own)
    if waiting is not None:
        yield waiting
    yield from (lexeme for piece in rest for lexeme in piece)


def _continues(segment: Segment) -> bool:
    return segment.entry is not None and segment.entry.continues


def _pieces(block: Sequence[Lexeme]) -> Iterator[list[Lexeme]]:
    """Each piece of a block, as the reader counts them, and each comment outside of art."""
    art: list[Lexeme] = []
    for lexeme in block:
        art.append(lexeme)
        if art[0].kind != "LBRACE" or lexeme.kind == "RBRACE":
            yield art
            art = []


def _taken(rest: Iterator[list[Lexeme]], count: int) -> tuple[list[Lexeme], list[Lexeme]]:
    """The comments before the next pieces, and these with the comments among them."""
    before: list[Lexeme] = []
    own: list[Lexeme] = []
    while count:
        piece = next(rest)
        if piece[0].is_comment:
            (own or before).extend(piece)
        else:
            own.extend(piece)
            count -= 1
    return before, own
