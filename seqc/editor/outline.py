"""The statements of a text as an outline."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from seqc.editor.analysis import Analysis
from seqc.language.source import Statement
from seqc.language.splitting import stretches
from seqc.machine.findings import Place


@dataclass(frozen=True, slots=True)
class Heading:
    """A statement in an outline: its keyword, its names, where they stand, and its last line."""

    keyword: str
    title: str
    place: Place
    last_line: int


def outline(analysis: Analysis) -> Iterator[Heading]:
    """A heading for each statement that has a name."""
    ends = {one.line + 1: one.line + _length(one.text) for one in stretches(analysis.text)}
    for statement in analysis.statements:
        if statement.names:
            last = ends.get(statement.place.line, statement.place.line)
            yield Heading(statement.keyword, _title(statement), statement.name.place, last)


def _length(text: str) -> int:
    """How many lines a stretch has, without the comments after its statement."""
    lines = text.split("\n")
    while len(lines) > 1 and (not lines[-1].strip() or lines[-1].lstrip().startswith("#")):
        lines.pop()
    return len(lines)


def _title(statement: Statement) -> str:
    joint = {"path": " -> ", "font": " for "}.get(statement.keyword, ", ")
    return joint.join(word.text for word in statement.names)
