"""Text to statements: the grammar is read by lark, its trees are turned into the source form."""

from __future__ import annotations

import re
from collections.abc import Iterator

from lark import Token, Tree, UnexpectedInput

from seqc.language.declared import Art
from seqc.language.forms import KEYWORDS
from seqc.language.grammar import parser
from seqc.language.limits import MAX_STATEMENTS, MAX_WORD
from seqc.language.source import Comma, Number, Offer, Piece, PlusMinus, Statement, Text, Word
from seqc.language.splitting import Stretch, begins_statement, stretches
from seqc.language.syntax_errors import report_syntax_error
from seqc.machine.findings import Findings, Place
from seqc.machine.wording import nearest, shown

_WORD = re.compile(r"[^\W\d]\w*(?:-\w+)*")
_ESCAPE = re.compile(r"\\(.)")


def parse(text: str, file: str, findings: Findings) -> tuple[list[Statement], bool]:
    """The statements of a text, and whether all were read, since there may be too many.

    Each stretch with a syntax error is reported, and what it holds is left as broken.
    """
    parts = stretches(text)
    whole = len(parts) <= MAX_STATEMENTS
    if not whole:
        message = f"more than {MAX_STATEMENTS} statements in one file"
        place = Place(file, parts[MAX_STATEMENTS].line + 1, 1)
        findings.error("too-many-statements", message, place, "divide the machine")
    read = [
        statement
        for part in parts[:MAX_STATEMENTS]
        for statement in _parse_stretch(part, file, findings)
    ]
    return read, whole


def _parse_stretch(stretch: Stretch, file: str, findings: Findings) -> list[Statement]:
    try:
        tree = parser().parse(stretch.text)
    except UnexpectedInput as error:
        report_syntax_error(error, stretch, file, findings)
        return list(_broken(stretch, file))
    builder = _Builder(file, stretch.line, findings)
    return [builder.statement(child) for child in tree.children if isinstance(child, Tree)]


def _broken(stretch: Stretch, file: str) -> Iterator[Statement]:
    """What can be made out of a stretch with a syntax error: keywords and names."""
    for number, line in enumerate(stretch.text.split("\n"), stretch.line + 1):
        first = _WORD.search(line)
        if first is None or not (number == stretch.line + 1 or begins_statement(line.lstrip())):
            continue
        keyword = nearest(first[0], KEYWORDS) or first[0]
        head = line[: line.find("{")] if "{" in line else line
        names = tuple(
            Word(name[0], Place(file, number, name.start() + 1, len(name[0])))
            for name in _WORD.finditer(head, first.end())
        )
        yield Statement(keyword, Place(file, number, first.start() + 1), names, broken=True)


class _Builder:
    """Turns the tree of a statement into its source form; `line` lines stand before the tree."""

    def __init__(self, file: str, line: int, findings: Findings) -> None:
        self.file = file
        self.line = line
        self.findings = findings

    def statement(self, tree: Tree[Token]) -> Statement:
        """The source form of one statement."""
        tokens = [child for child in tree.children if isinstance(child, Token)]
        trees = [child for child in tree.children if isinstance(child, Tree)]
        if tree.data == "tolerance":
            pieces = (self._word(tokens[0]), *map(self._piece, tokens[1:]))
            return Statement("tolerance", self._place(tokens[0]), pieces=pieces)
        texts = [self._text(token) for token in tokens if token.type == "STRING"]
        return Statement(
            keyword=str(tree.data),
            place=self._place(tokens[0]),
            names=tuple(self._word(token) for token in tokens if token.type == "WORD"),
            file=texts[0] if texts else None,
            stations=tuple(self._offer(child) for child in trees if child.data == "offer"),
            pieces=tuple(
                self._piece(piece)
                for child in trees
                if child.data in ("block", "cells")
                for piece in (child.children if child.data == "block" else [child])
            ),
        )

    def _place(self, token: Token) -> Place:
        assert token.line is not None
        assert token.column is not None
        return Place(self.file, token.line + self.line, token.column, len(token))

    def _word(self, token: Token) -> Word:
        return Word(self._bounded(token), self._place(token))

    def _bounded(self, token: Token) -> str:
        """The text of a word or number, of which no good one is very long."""
        if len(token) > MAX_WORD:
            message = f"`{shown(token)}` has more than {MAX_WORD} characters"
            self.findings.error("word-too-long", message, self._place(token), "shorten it")
        return str(token)[:MAX_WORD]

    def _text(self, token: Token) -> Text:
        place = self._place(token)
        for escape in _ESCAPE.finditer(token):
            if escape[1] not in '"\\':
                message = f"`\\{escape[1]}` means nothing in a text"
                hint = 'write `\\"` for a quote and `\\\\` for a backslash'
                self.findings.error("unknown-escape", message, place, hint)
        return Text(_ESCAPE.sub(r"\1", token[1:-1]), place)

    def _piece(self, node: Token | Tree[Token]) -> Piece:
        if isinstance(node, Tree):
            return self._art(node)
        match node.type:
            case "WORD":
                return self._word(node)
            case "NUMBER":
                return Number(self._bounded(node), self._place(node))
            case "STRING":
                return self._text(node)
            case "PLUSMINUS":
                return PlusMinus(self._place(node))
            case _:
                return Comma(self._place(node))

    def _art(self, tree: Tree[Token]) -> Art:
        brace, *rows = [child for child in tree.children if isinstance(child, Token)]
        places = (self._place(row) for row in rows)
        return Art(
            tuple(str(row)[1:-1] for row in rows),
            tuple(Place(p.file, p.line, p.column + 1, max(1, p.length - 2)) for p in places),
            self._place(brace),
        )

    def _offer(self, tree: Tree[Token]) -> Offer:
        """A station with its inputs, however deep they nest: every tree after its subtrees."""
        made: dict[int, Offer] = {}
        for node in tree.iter_subtrees():
            word, *rest = node.children
            assert isinstance(word, Token)
            inputs = tuple(made[id(child)] for child in rest if isinstance(child, Tree))
            bracket = any(isinstance(child, Token) for child in rest)
            made[id(node)] = Offer(self._word(word), inputs if bracket else None)
        return made[id(tree)]
