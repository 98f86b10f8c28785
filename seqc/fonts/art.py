"""Glyphs drawn in the language."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from seqc.language.declared import DrawnGlyph, FontSource, Mark
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.glyphs import Glyph
from seqc.machine.parts import Cell
from seqc.machine.wording import amount_of, did_you_mean

ABSENT = "-"
"""How cells that the grid doesn't have are drawn."""


def draw_art(
    source: FontSource, offered: Collection[str], findings: Findings
) -> dict[str, Glyph | None]:
    """The glyphs that a font draws, by name; None for one whose faults have been reported.

    `offered` are the items that the lane of the font's grid can bring.
    """
    marks = _known_marks(source, offered, findings)
    easel = Easel(source, {sign: mark.item for sign, mark in marks.items()}, findings)
    drawn: dict[str, Glyph | None] = {}
    first: dict[str, Place] = {}
    for glyph in source.glyphs:
        if glyph.name in first:
            _report_twice("glyph", glyph.name, glyph.place, first[glyph.name], findings)
            continue
        first[glyph.name] = glyph.place
        drawn[glyph.name] = easel.glyph(glyph)
    for sign, mark in marks.items():
        if sign not in easel.used:
            findings.warning("unused-mark", f"no glyph uses the mark `{sign}`", mark.place)
    return drawn


def report_unoffered(
    source: FontSource, item: str, offered: Collection[str], place: Place, findings: Findings
) -> None:
    """Report an item that the lane of the font's grid can't bring."""
    if item not in offered:
        findings.error(
            "item-not-offered",
            f"the lane of grid `{source.grid.name}` doesn't offer `{item}`",
            place,
            did_you_mean(item, sorted(offered)),
        )


def _known_marks(
    source: FontSource, offered: Collection[str], findings: Findings
) -> dict[str, Mark]:
    marks: dict[str, Mark] = {}
    for mark in source.marks:
        report_unoffered(source, mark.item, offered, mark.place, findings)
        if mark.sign in marks:
            _report_twice("mark", mark.sign, mark.place, marks[mark.sign].place, findings)
        elif len(mark.sign) != 1 or mark.sign == "|":
            findings.error(
                "mark-sign",
                f"`{mark.sign}` can't be a mark",
                mark.place,
                "a mark is one character, other than the bar that ends a row",
            )
        elif mark.sign == ABSENT and _has_absent(source):
            findings.error(
                "mark-sign",
                f"`{ABSENT}` can't be a mark on grid `{source.grid.name}`",
                mark.place,
                "it stands for the cells that the grid doesn't have; choose another character",
            )
        else:
            marks[mark.sign] = mark
    return marks


def _has_absent(source: FontSource) -> bool:
    return len(source.grid.cells) < source.grid.rows * source.grid.columns


def _report_twice(noun: str, name: str, place: Place, first: Place, findings: Findings) -> None:
    findings.error(
        f"{noun}-twice",
        f"{noun} `{name}` is there twice",
        place,
        "remove or rename one of them",
        Related(first, "the first one"),
    )


@dataclass(frozen=True)
class Easel:
    """Turns drawings into glyphs of one font; `used` gathers the marks that it meets."""

    source: FontSource
    items: dict[str, str]
    findings: Findings
    used: set[str] = field(default_factory=set)

    def glyph(self, drawn: DrawnGlyph) -> Glyph | None:
        """The glyph, or None when it has faults; these are reported."""
        sound = self._named(drawn)
        sound &= self._known_signs(drawn)
        if not (self._right_size(drawn) and self._right_cells(drawn) and sound):
            return None
        rows = drawn.art.rows
        kinds = tuple(self.items[rows[c.row - 1][c.column - 1]] for c in self.source.grid.cells)
        return Glyph(drawn.name, self.source.name, self.source.grid.name, kinds, drawn.place)

    def _named(self, drawn: DrawnGlyph) -> bool:
        good = len(drawn.name) == 1 or not set(drawn.name) & set("{}")
        if not good:
            self.findings.error(
                "glyph-name",
                f"`{drawn.name}` can't be the name of a glyph",
                drawn.place,
                "a name of several letters has no braces: they mark it in a text to show",
            )
        return good

    def _known_signs(self, drawn: DrawnGlyph) -> bool:
        known = set(self.items) | ({ABSENT} if _has_absent(self.source) else set())
        reported: set[str] = set()
        for row, place in zip(drawn.art.rows, drawn.art.places, strict=True):
            for offset, sign in enumerate(row):
                if sign not in known and sign not in reported:
                    reported.add(sign)
                    self._report_sign(drawn, sign, _shifted(place, offset))
        self.used.update(*drawn.art.rows)
        return not reported

    def _report_sign(self, drawn: DrawnGlyph, sign: str, place: Place) -> None:
        known = ", ".join(f"`{mark}` {item}" for mark, item in self.items.items())
        self.findings.error(
            "unknown-mark",
            f"`{sign}` in glyph `{drawn.name}` has no meaning in font `{self.source.name}`",
            place,
            f"its marks are {known}" if known else f'declare it: mark "{sign}" and an item',
        )

    def _right_size(self, drawn: DrawnGlyph) -> bool:
        grid, rows = self.source.grid, drawn.art.rows
        widths = {len(row) for row in rows}
        if len(widths) > 1:
            self._report_uneven(drawn)
            return False
        columns = max(widths, default=0)
        if (len(rows), columns) == (grid.rows, grid.columns):
            return True
        self.findings.error(
            "glyph-size",
            f"glyph `{drawn.name}` is {amount_of(columns, 'column')} by"
            f" {amount_of(len(rows), 'row')}; grid `{grid.name}` is"
            f" {amount_of(grid.columns, 'column')} by {amount_of(grid.rows, 'row')}",
            drawn.art.place,
            "draw every row and column of the grid",
        )
        return False

    def _report_uneven(self, drawn: DrawnGlyph) -> None:
        rows, columns = drawn.art.rows, self.source.grid.columns
        index = next(index for index, row in enumerate(rows) if len(row) != columns)
        self.findings.error(
            "uneven-rows",
            f"row {index + 1} of glyph `{drawn.name}` has {amount_of(len(rows[index]), 'mark')};"
            f" grid `{self.source.grid.name}` has {amount_of(columns, 'column')}",
            drawn.art.places[index],
            "draw every row as wide as the grid",
        )

    def _right_cells(self, drawn: DrawnGlyph) -> bool:
        if not _has_absent(self.source):
            return True
        grid = self.source.grid
        for row, line in enumerate(drawn.art.rows, 1):
            for column, sign in enumerate(line, 1):
                if (Cell(row, column) in grid.index_of) == (sign == ABSENT):
                    place = _shifted(drawn.art.places[row - 1], column - 1)
                    self._report_cell(drawn, Cell(row, column), sign, place)
                    return False
        return True

    def _report_cell(self, drawn: DrawnGlyph, cell: Cell, sign: str, place: Place) -> None:
        grid = f"grid `{self.source.grid.name}`"
        if sign == ABSENT:
            message, hint = f"{cell} is left out, and {grid} has it", "draw a mark there"
        else:
            message, hint = f"{cell} is drawn, and {grid} doesn't have it", f"draw `{ABSENT}` there"
        self.findings.error("absent-cell", f"in glyph `{drawn.name}` {message}", place, hint)


def _shifted(place: Place, offset: int) -> Place:
    return Place(place.file, place.line, place.column + offset)
