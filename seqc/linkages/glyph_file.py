"""A bitmap font file as a font of the language, drawn mark by mark, so that it needs no file."""

from __future__ import annotations

import pathlib
import re
from collections.abc import Iterable, Iterator, Sequence

from seqc.fonts.bitmap import BitmapFont, FontFileError, Ink, Placement, ink_of
from seqc.fonts.files import open_font
from seqc.language.declared import FontSource, Seat
from seqc.linkages.edits import drawn
from seqc.machine.findings import Findings, InputError, Place
from seqc.machine.parts import Cell, Grid

GRID = "picture"
INK, PAPER = "dark", "light"
MARKS = {"1": "#", "0": "."}
PRINTABLE = tuple(map(chr, range(0x20, 0x7F)))
"""The 95 printable characters of ASCII (ANSI X3.4, 1986)."""


def is_font_file(path: pathlib.Path) -> bool:
    """Whether a file is taken for a font file: by its name, or since it is no text."""
    if path.suffix == ".lanes":
        return False
    try:
        head = path.read_bytes()[:4096] if path.is_file() else b""
    except OSError:
        return False
    return head.startswith(b"STARTFONT") or b"\0" in head or path.suffix not in ("", ".txt", ".art")


def font_text(path: pathlib.Path, wanted: Sequence[str], findings: Findings) -> str:
    """The font of a file as a statement: the glyphs wanted by name, or those of ASCII.

    The grid is as large as the ink of these glyphs, which sit on one baseline. Raises InputError
    when the file is no font, or has no such glyph.
    """
    try:
        bitmaps = open_font(path)
        inks = {name: ink_of(bitmaps.draw(name)) for name in _names(bitmaps, wanted)}
    except (FontFileError, KeyError) as error:
        what = error if isinstance(error, FontFileError) else f"has no glyph `{error.args[0]}`"
        findings.error("font-file", f"font file `{path.name}` {what}", Place(str(path), 1, 1))
        raise InputError(findings) from error
    inked = [ink for ink in inks.values() if ink.rows]
    if not inked:
        message = f"no glyph of font file `{path.name}` has any ink"
        findings.error("font-file", message, Place(str(path), 1, 1))
        raise InputError(findings)
    source = _source(_name(path), inked)
    placement = Placement(source)
    lines = [f"font {source.name} for {GRID} {{"]
    lines += [f'    mark "{MARKS["1"]}" {INK}', f'    mark "{MARKS["0"]}" {PAPER}']
    for name in inks:
        bits = placement.bits(bitmaps.draw(name))
        lines.append(f"    glyph {_quoted(name)} {drawn(tuple(_rows(bits, source.grid)))}")
    return "\n".join([*lines, "}", ""])


def _names(bitmaps: BitmapFont, wanted: Sequence[str]) -> Iterable[str]:
    for name in wanted:
        if name not in bitmaps.names:
            raise KeyError(name)
    ascii_ = [name for name in PRINTABLE if name in bitmaps.names]
    return dict.fromkeys(wanted) or ascii_ or list(bitmaps.names)


def _source(name: str, inks: Sequence[Ink]) -> FontSource:
    top = max(ink.bottom + len(ink.rows) for ink in inks)
    rows, columns = top - min(ink.bottom for ink in inks), max(ink.width for ink in inks)
    cells = tuple(Cell(r, c) for r in range(1, rows + 1) for c in range(1, columns + 1))
    grid = Grid(GRID, rows, columns, cells)
    return FontSource(name, grid, seat=Seat.BASELINE, baseline_row=top)


def _rows(bits: str, grid: Grid) -> Iterator[str]:
    drawn_bits = "".join(MARKS[bit] for bit in bits)
    for start in range(0, len(drawn_bits), grid.columns):
        yield drawn_bits[start : start + grid.columns]


def _name(path: pathlib.Path) -> str:
    """A good name for the font of a file."""
    word = re.sub(r"\W", "_", path.name.split(".")[0], flags=re.ASCII).strip("_")[:30]
    return f"font_{word}" if not word or word[0].isdigit() else word


def _quoted(name: str) -> str:
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
