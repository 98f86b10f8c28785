"""A finding as people read it: where, what, the line with the place marked, and what to do."""

from __future__ import annotations

import functools
import pathlib
from collections.abc import Callable, Iterator, Sequence

from seqc.machine.findings import Finding, Place

SourceLines = Callable[[str], Sequence[str]]
"""Gives the lines of a file by its name; none where they can't be had."""

WIDTH = 80
CUT = "..."
MAX_RELATED = 8
MAX_BYTES = 1 << 20


def render(finding: Finding, source_lines: SourceLines) -> str:
    """A finding with its source line, its hint and its related places, as plain lines of text.

    Nothing in it moves a cursor or changes a colour, whatever stands in the source.
    """
    head = f"{finding.severity.value}: {finding.message}"
    if finding.place.file:
        head = f"{finding.place}: {head}"
    lines = [plain(head), *_excerpt(finding.place, source_lines)]
    if finding.hint:
        lines.append(plain(f"  hint: {finding.hint}"))
    for related in finding.related[:MAX_RELATED]:
        lines.append(plain(f"  {related.place}: {related.note}"))
        lines += _excerpt(related.place, source_lines)
    if len(finding.related) > MAX_RELATED:
        lines.append(f"  and {len(finding.related) - MAX_RELATED} places more")
    return "\n".join(lines)


@functools.lru_cache(maxsize=64)
def file_lines(file: str) -> Sequence[str]:
    """The lines of a text file, or none where it can't be read."""
    path = pathlib.Path(file)
    try:
        if not path.is_file():
            return ()
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES).decode("utf-8-sig", errors="replace").split("\n")
    except (OSError, ValueError):
        return ()


def plain(text: str) -> str:
    """A text in which every character that can't be seen is replaced: a tab by a blank."""
    return "".join(c if c.isprintable() else " " if c == "\t" else "\ufffd" for c in text)


def _excerpt(place: Place, source_lines: SourceLines) -> Iterator[str]:
    """The line of a place and the marks under it; a long line is cut around the place.

    Three points stand where it is cut.
    """
    lines = source_lines(place.file)
    if not 1 <= place.line <= len(lines):
        return
    line = plain(lines[place.line - 1].rstrip("\r\n"))
    start = max(0, place.column - 1)
    first = max(0, start - WIDTH // 2) if len(line) > WIDTH else 0
    shown = line[first : first + WIDTH]
    marks = max(1, min(place.length, first + len(shown) - start))
    number = str(place.line)
    before, after = CUT if first else "", CUT if first + WIDTH < len(line) else ""
    yield f"  {number} | {before}{shown}{after}".rstrip()
    yield f"  {' ' * len(number)} | {' ' * (len(before) + start - first)}{'^' * marks}"
