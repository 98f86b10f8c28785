"""Statements as they are written: their words and signs, head and block apart, and comments."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.language.formatting.lexemes import Lexeme
from seqc.language.source import Statement


@dataclass(frozen=True, slots=True)
class Written:
    """A statement: what stands before its block and, if it has one, between the outer braces.

    The closing brace counts as the last of the block. Comments are among both. A lane has no block:
    the drawing of its cells counts as one of its words.
    """

    statement: Statement
    head: Sequence[Lexeme]
    block: Sequence[Lexeme] | None

    @property
    def breaks(self) -> int:
        """How many lines end before it."""
        return self.head[0].breaks


def written(statements: Sequence[Statement], every: Sequence[Lexeme]) -> list[Written | Lexeme]:
    """Each statement, and each comment outside of them, in the order of the text."""
    starts = {(one.place.line, one.place.column): one for one in statements}
    found: list[Written | Lexeme] = []
    run: list[Lexeme] = []
    statement: Statement | None = None
    for lexeme in every:
        begun = starts.get((lexeme.line, lexeme.column))
        if begun is not None:
            found += _ended(statement, run)
            statement, run = begun, []
        run.append(lexeme)
    return [*found, *_ended(statement, run)]


def _ended(statement: Statement | None, run: Sequence[Lexeme]) -> Iterator[Written | Lexeme]:
    """A statement, and the comments after its last word or sign."""
    words = [rank for rank, lexeme in enumerate(run) if not lexeme.is_comment]
    length = words[-1] + 1 if words else 0
    if statement is not None:
        yield _parted(statement, run[:length])
    yield from run[length:]


def _parted(statement: Statement, run: Sequence[Lexeme]) -> Written:
    for rank, lexeme in enumerate(run if not statement.stations else ()):
        if lexeme.kind == "LBRACE":
            return Written(statement, run[:rank], run[rank + 1 :])
    return Written(statement, run, None)
