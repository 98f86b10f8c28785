"""A whole text: its statements laid out one after the other."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.language.formatting.alignment import Row, aligned
from seqc.language.formatting.blocks import art_lines, block_lines, inline
from seqc.language.formatting.lexemes import (
    Lexeme,
    comments,
    is_broken,
    lexemes,
    spaced,
    without_comments,
)
from seqc.language.formatting.lines import INDENT, WIDTH, Line, commented, opened, texts
from seqc.language.formatting.units import Unit, units
from seqc.language.formatting.written import Written, written
from seqc.language.parsing import parse
from seqc.machine.findings import Findings


@dataclass(slots=True)
class _Laid:
    """A statement or a comment with the lines that it takes.

    `row` is what a line that can be aligned is made of; `notes` are the comments at its end.
    """

    breaks: int
    lines: list[Line]
    row: Row | None
    notes: list[str]


def formatted(text: str, file: str, findings: Findings) -> str | None:
    """The text of a machine file laid out anew; None where syntax errors are found in it.

    What the text means stays the same. Formatting what was formatted changes nothing.
    """
    own = Findings()
    statements, _ = parse(text, file, own)
    findings.extend(own)
    if own.has_errors:
        return None
    laid = _laid(written(statements, lexemes(text)))
    done = "".join(f"{line}\n" for run in _runs(laid) for line in texts(run))
    return done.replace("\n", "\r\n") if "\r\n" in text else done


def _laid(parts: Sequence[Written | Lexeme]) -> list[_Laid]:
    found: list[_Laid] = []
    for part in parts:
        if isinstance(part, Written):
            row = _row(part)
            found.append(_Laid(part.breaks, [] if row else _lines(part), row, []))
        elif found and not part.breaks:
            found[-1].notes.append(part.text)
        else:
            found.append(_Laid(part.breaks, [Line("", 0, part.text)], None, []))
    return found


def _row(one: Written) -> Row | None:
    """A statement as one line, if it was written so and isn't too long for it."""
    if comments(one.head) or (one.block is None and is_broken(one.head[1:])):
        return None
    keyword, words = one.head[0].text, one.head[1:]
    if one.block is None:
        name = 1 if one.statement.stations else len(words)
        row = Row(keyword, spaced(words[:name]), tail=spaced(words[name:]))
        row = row if row.tail else Row(keyword, "", tail=row.head)
    elif is_broken(one.block) or comments(one.block):
        return None
    else:
        inside = [unit for unit in units(one) if isinstance(unit, Unit)]
        keys, settings = tuple(unit.key for unit in inside), tuple(map(inline, inside))
        row = Row(keyword, spaced(words), keys, settings)
    return row if len(row.text()) <= WIDTH else None


def _lines(one: Written) -> list[Line]:
    """A statement over several lines."""
    if one.block is None:
        brace = next((n for n, word in enumerate(one.head) if word.kind == "LBRACE"), None)
        if brace is None:
            return _stretched(one.head)
        return art_lines(_stretched(one.head[: brace + 1]), one.head[brace + 1 :])
    inside = list(units(one))
    notes = comments(one.head)
    if inside and not isinstance(inside[0], Unit) and not inside[0].breaks:
        notes.append(inside[0].text)
        inside = inside[1:]
    return [*opened(spaced(without_comments(one.head)), notes), *block_lines(inside), Line("}")]


def _stretched(words: Sequence[Lexeme]) -> list[Line]:
    """A statement without a block on the lines on which it stands, long ones broken at arrows."""
    lines: list[Line] = []
    row: list[Lexeme] = []
    for word in words:
        indent = INDENT if lines else 0
        long = word.kind == "LARROW" and indent + len(spaced([*row, word])) + _next(words, word)
        if row and (word.breaks or long > WIDTH):
            lines.append(Line(spaced(row), indent))
            row = []
        if not word.is_comment:
            row.append(word)
        elif row:
            lines += commented([Line(spaced(row), indent)], [word.text])
            row = []
        elif word.breaks:
            lines.append(Line("", INDENT, word.text))
        else:
            lines = commented(lines, [word.text])
    return [*lines, Line(spaced(row), INDENT if lines else 0)] if row else lines


def _next(words: Sequence[Lexeme], arrow: Lexeme) -> int:
    """How long the station after an arrow is, with the blank before it."""
    behind = words[words.index(arrow) + 1 :]
    station = itertools.takewhile(lambda word: word.kind != "LARROW", behind)
    return 1 + len(spaced(without_comments(station)))


def _runs(laid: Sequence[_Laid]) -> Iterator[list[Line]]:
    """The lines of all, those of adjacent statements of one family aligned."""
    at = 0
    while at < len(laid):
        if at and laid[at].breaks > 1:
            yield [Line()]
        end = at + 1
        while end < len(laid) and _adjoin(laid[end - 1], laid[end]):
            end += 1
        yield _run(laid[at:end])
        at = end


def _adjoin(one: _Laid, other: _Laid) -> bool:
    if one.row is None or other.row is None or other.breaks > 1:
        return False
    return one.row.family == other.row.family


def _run(laid: Sequence[_Laid]) -> list[Line]:
    """The lines of one statement over several lines, or of rows that are aligned."""
    rows = [one.row for one in laid if one.row]
    if not rows:
        return commented(laid[0].lines, laid[0].notes)
    lines: list[Line] = []
    for one, text in zip(laid, aligned(rows), strict=True):
        lines += commented([Line(text)], one.notes)
    return lines
