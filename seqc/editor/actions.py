"""Edits that do what the hint of a finding says."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import seqc
from seqc.editor.analysis import Analysis
from seqc.editor.names import STATION
from seqc.language.forms import FORMS
from seqc.language.settings import Segment, segments
from seqc.language.source import Statement
from seqc.language.tables import SCHEMAS
from seqc.machine.findings import Finding, Place
from seqc.machine.wording import suggestion
from seqc.solver.reach.new_linkage import NewLinkage

OUT_OF_REACH = "out-of-reach"

_QUOTED = re.compile(r"`([^`]+)`")
_TO_FILL_IN = re.compile(r"\b[A-Z]{3,}\b|\.\.\.")


@dataclass(frozen=True, slots=True)
class Edit:
    """A stretch from one position to another, counted from 1, and what is to stand there."""

    line: int
    column: int
    end_line: int
    end_column: int
    text: str


@dataclass(frozen=True, slots=True)
class Action:
    """An edit with the words in which it is offered."""

    title: str
    edit: Edit


def actions(analysis: Analysis, finding: Finding) -> Iterator[Action]:
    """What may be done about a finding of the text itself."""
    place = finding.place
    if place.file != analysis.file:
        return
    near = suggestion(finding.hint)
    if near:
        yield Action(f"Change to `{near}`", _at(place, near))
    match finding.code:
        case "missing-setting":
            yield from _added_settings(analysis, finding)
        case "unclosed-block":
            yield Action("Close the block", _at(_end_of(place), " }"))
        case "needless-unit":
            yield Action("Leave the unit out", _at(place, ""))
        case "missing-value" if finding.hint.startswith("write"):
            for text in _QUOTED.findall(finding.hint)[:1]:
                yield Action(f"Write `{text}`", _at(place, text))
        case _:
            yield from _added_statements(analysis, finding)


def repairs(analysis: Analysis, lost: Iterable[seqc.Beyond]) -> Iterator[Action]:
    """The linkages that bring glyphs within reach, to be pasted in the place of the old ones."""
    for grid in lost:
        for title, links in (
            ("Split the linkage", grid.remedy.repair.links),
            ("Move cells in the linkage", grid.remedy.regrouping.links),
        ):
            for link in links:
                edit = _relinked(analysis, link)
                if edit is not None:
                    yield Action(f"{title} of {link.part.name}: {_short(link.setting)}", edit)


def additions(analysis: Analysis, line: int) -> Iterator[Action]:
    """What may be added to the item on a line: that its used pieces come back."""
    for statement in analysis.statements:
        if statement.keyword != "item" or statement.place.line != line or statement.broken:
            continue
        found = list(segments(statement))
        if not any(one.entry and one.entry.key == "recirculate" for one in found) and found:
            example = _example("item", "recirculate")
            yield Action(
                f"Declare the return: `{example}`", _at(_behind(found[-1]), f"  {example}")
            )


def _example(keyword: str, key: str) -> str:
    return SCHEMAS[keyword].of(key)[0].example


def _short(setting: str) -> str:
    return " ".join(setting.split())


def _at(place: Place, text: str) -> Edit:
    return Edit(place.line, place.column, place.line, place.column + place.length, text)


def _end_of(place: Place) -> Place:
    return Place(place.file, place.line, place.column, 0)


def _behind(segment: Segment) -> Place:
    """The place behind the last piece of a setting."""
    last = segment.pieces[-1].place
    return Place(last.file, last.line, last.column + last.length, 0)


def _added_settings(analysis: Analysis, finding: Finding) -> Iterator[Action]:
    for statement in analysis.statements:
        if statement.name.place == finding.place and statement.pieces:
            behind = _behind(list(segments(statement))[-1])
            for text in _QUOTED.findall(finding.hint):
                yield Action(f"Add `{text}`", _at(behind, f"  {text}"))


def _added_statements(analysis: Analysis, finding: Finding) -> Iterator[Action]:
    """Statements that a hint asks for, at the end of the text, unless something is to fill in."""
    for text in _QUOTED.findall(finding.hint):
        if text.split()[0] in FORMS and " " in text and not _TO_FILL_IN.search(text):
            lines = analysis.lines
            gap = "" if not lines[-1] else "\n"
            end = len(lines), len(lines[-1]) + 1
            yield Action(f"Add `{text}`", Edit(*end, *end, f"{gap}{text}\n"))


def _relinked(analysis: Analysis, link: NewLinkage) -> Edit | None:
    """The edit that puts a new linkage in the place of a part's old one."""
    statement = _statement_of(analysis, link.part.name)
    if statement is None or not link.setting:
        return None
    for segment in segments(statement):
        if segment.entry is not None and segment.entry.key == "linkage":
            first, last = segment.pieces[0].place, segment.pieces[-1].place
            text = link.setting.replace("\n", f"\n{' ' * (first.column - 1)}")
            if segment.entry.values:
                line, column = _closing(analysis, last)
                return Edit(first.line, first.column, line, column, text)
            return Edit(first.line, first.column, last.line, last.column + last.length, text)
    return None


def _closing(analysis: Analysis, brace: Place) -> tuple[int, int]:
    """The position behind the brace that closes a drawing."""
    column = brace.column
    for line in range(brace.line, len(analysis.lines) + 1):
        at = analysis.lines[line - 1].find("}", column - 1)
        if at >= 0:
            return line, at + 2
        column = 1
    return brace.line, brace.column + 1


def _statement_of(analysis: Analysis, part: str) -> Statement | None:
    names = analysis.names.of(STATION, part)
    places = [one.place for one in names if one.keyword]
    return next((one for one in analysis.statements if one.name.place in places), None)
