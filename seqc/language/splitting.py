"""Cuts a text into stretches that can be read on their own, so that one mistake hides no other."""

from __future__ import annotations

import re
from typing import NamedTuple

from seqc.language.forms import KEYWORDS

_ANY = "|".join(KEYWORDS)
_HEADER = re.compile(
    rf"(?:{_ANY})[ \t]+[\w-]+[ \t]*(?:\{{|=|->|,)"
    r"|tolerance[ \t]+[\d.]|(?:controller|air)[ \t]*\{"
    r"|font[ \t]+[\w-]+[ \t]+for\b|machine[ \t]+[\w-]+[ \t]*(?:#|$)|include[ \t]+\""
)
_BRACES = re.compile(r'"(?:[^"\\\n]|\\[^\n]?)*(?P<end>"|$)|\|[^|\n]*\||#[^\n]*|[{}]')


class Stretch(NamedTuple):
    """Some whole lines of a text; `line` is how many lines stand before them."""

    text: str
    line: int


def stretches(text: str) -> list[Stretch]:
    """The stretches of a text: a new one begins where a statement does, in the first column.

    A word in the first column begins a statement when it stands outside of every block. Inside a
    block it does so only with the whole head of a statement, since then a brace is missing.
    """
    found: list[Stretch] = []
    lines: list[str] = []
    first = depth = 0
    for number, line in enumerate(text.split("\n")):
        if _begins(line, depth) and lines:
            found.append(Stretch("\n".join(lines), first))
            lines, first, depth = [], number, 0
        lines.append(line)
        depth = _depth_after(line, depth)
    return [*found, Stretch("\n".join(lines), first)]


def _begins(line: str, depth: int) -> bool:
    if not line[:1].isalpha():
        return False
    return depth == 0 or begins_statement(line)


def begins_statement(line: str) -> bool:
    """Whether a line begins with the whole head of a statement."""
    return _HEADER.match(line) is not None


def _depth_after(line: str, depth: int) -> int:
    if "{" not in line and "}" not in line:
        return depth
    for match in _BRACES.finditer(line):
        if match[0] == "{" or match["end"] == "":
            depth += match[0].count("{")
        if match[0] == "}" or match["end"] == "":
            depth = max(0, depth - match[0].count("}"))
    return depth
