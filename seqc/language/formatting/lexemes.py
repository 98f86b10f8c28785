"""The words and signs of a text with the comments among them, and where lines are broken."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from seqc.language.grammar import parser

CLOSE_BEFORE = frozenset({"COMMA", "LPAR", "RPAR"})
CLOSE_AFTER = frozenset({"LPAR"})


@dataclass(frozen=True, slots=True)
class Lexeme:
    """A word or sign of the grammar, or a comment; `breaks` is how many lines end before it."""

    kind: str
    text: str
    line: int
    column: int
    breaks: int

    @property
    def is_comment(self) -> bool:
        """Whether it is a comment."""
        return self.kind == "COMMENT"


def lexemes(text: str) -> list[Lexeme]:
    """All words, signs and comments of a text without errors."""
    found: list[Lexeme] = []
    breaks = 0
    for token in parser().lex(text, dont_ignore=True):
        if token.isspace():
            breaks += token.count("\n")
            continue
        assert token.line is not None
        assert token.column is not None
        found.append(Lexeme(token.type, token.rstrip(), token.line, token.column, breaks))
        breaks = 0
    return found


def spaced(line: Iterable[Lexeme]) -> str:
    """Words and signs on one line, a blank between them where one belongs."""
    text, before = "", ""
    for lexeme in line:
        if before and lexeme.kind not in CLOSE_BEFORE and before not in CLOSE_AFTER:
            text += " "
        text += lexeme.text
        before = lexeme.kind
    return text


def without_comments(among: Iterable[Lexeme]) -> list[Lexeme]:
    """All but the comments."""
    return [lexeme for lexeme in among if not lexeme.is_comment]


def comments(among: Iterable[Lexeme]) -> list[str]:
    """The comments alone."""
    return [lexeme.text for lexeme in among if lexeme.is_comment]


def is_broken(among: Sequence[Lexeme]) -> bool:
    """Whether a line ends before any of them."""
    return any(lexeme.breaks for lexeme in among)
