"""What is told about the word under the pointer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from seqc.editor.analysis import Analysis
from seqc.editor.figures import figures, path_figures
from seqc.editor.names import Occurrence, covers
from seqc.language.reference import setting_text, statement_text
from seqc.language.settings import segments
from seqc.language.source import Statement
from seqc.language.tables import SCHEMAS
from seqc.machine.findings import Place
from seqc.report.language_markdown import setting_markdown, statement_markdown


@dataclass(frozen=True, slots=True)
class Hover:
    """A text in Markdown, and the place that it is about."""

    text: str
    place: Place


def hover(analysis: Analysis, line: int, column: int) -> Hover | None:
    """What is known of the word at a place: a name, a keyword or a setting."""
    name = analysis.names.at(analysis.file, line, column)
    if name is not None:
        return _name(analysis, name)
    for statement in analysis.statements:
        if covers(statement.place, analysis.file, line, column):
            return _keyword(analysis, statement)
        found = _setting(analysis, statement, line, column)
        if found is not None:
            return found
    return None


def _name(analysis: Analysis, name: Occurrence) -> Hover:
    declared = analysis.names.declaration(name)
    if declared is None:
        return Hover(f"`{name.word.text}` isn't declared.", name.place)
    text = f"**{declared.keyword} {name.word.text}**"
    if declared.place.file != analysis.file:
        text += f", declared in {declared.place.file}, line {declared.place.line}"
    facts = figures(analysis.machine, declared.keyword, name.word.text) if analysis.machine else []
    return Hover(_with(text, facts), name.place)


def _keyword(analysis: Analysis, statement: Statement) -> Hover | None:
    if statement.broken:
        return None
    text = statement_markdown(statement_text(statement.keyword))
    facts = _path(analysis, statement)
    return Hover(_with(text, facts), statement.place)


def _path(analysis: Analysis, statement: Statement) -> list[str]:
    if statement.keyword != "path" or analysis.machine is None:
        return []
    start, end = (word.text for word in statement.names)
    return path_figures(analysis.machine, start, end)


def _setting(analysis: Analysis, statement: Statement, line: int, column: int) -> Hover | None:
    if statement.broken or statement.keyword not in SCHEMAS:
        return None
    schema = SCHEMAS[statement.keyword]
    for segment in segments(statement):
        if segment.entry is None:
            continue
        for piece in segment.pieces:
            if covers(piece.place, analysis.file, line, column):
                text = setting_markdown(setting_text(segment.entry, schema))
                return Hover(_with(text, _path(analysis, statement)), piece.place)
    return None


def _with(text: str, facts: Iterable[str]) -> str:
    lines = [f"- {fact}" for fact in facts]
    return "\n".join([text, "", *lines]) if lines else text
