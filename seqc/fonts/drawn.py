"""Draws one font: the glyphs of its declaration and those of its file."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from seqc.fonts.art import draw_art, report_unoffered
from seqc.fonts.bitmap import BitmapFont, FontFileError, MisfitError, Placement
from seqc.fonts.files import open_font
from seqc.language.declared import FontFile, FontSource, Seat
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.glyphs import Font, Glyph
from seqc.machine.wording import did_you_mean, quoted

LARGE = 2_048
"""A font file with more glyphs than this is drawn only as far as it is asked for."""

FEW = 40


@dataclass(frozen=True)
class DrawnFont:
    """A font and what is wrong with the glyphs that it lacks.

    `refused` has the reason by name, empty where the fault has been reported; `broken` tells that
    the font file couldn't be read, which explains all that is missing.
    """

    source: FontSource
    glyphs: dict[str, Glyph]
    refused: dict[str, str] = field(default_factory=dict)
    broken: bool = False

    @property
    def font(self) -> Font:
        """The font as the model has it."""
        return Font(
            self.source.name, self.source.grid, tuple(self.glyphs.values()), self.source.place
        )

    def report(self, name: str, place: Place, findings: Findings) -> None:
        """Report why the font can't show a glyph, if it can't and that isn't reported yet."""
        if name in self.glyphs or self.refused.get(name) == "":
            return
        if name in self.refused:
            file = self.source.file
            related = (Related(file.place, "the font file"),) if file else ()
            findings.error("glyph-unfit", self.refused[name], place, "", *related)
        elif not self.broken:
            findings.error(
                "missing-glyph",
                f"font `{self.source.name}` has no glyph `{name}`",
                place,
                self._hint(name),
            )

    def _hint(self, name: str) -> str:
        if 0 < len(self.glyphs) <= FEW:
            return f"it has {' '.join(quoted(self.glyphs))}"
        return did_you_mean(name, tuple(self.glyphs))


def draw_font(
    source: FontSource,
    offered: Collection[str],
    asked: Iterable[str],
    whole: bool,
    findings: Findings,
) -> DrawnFont:
    """Draw a font; of a large font file only what is `asked`, unless the `whole` is wanted.

    Where a glyph is both drawn and in the file, the drawn one counts. `offered` are the items that
    the lane of the font's grid can bring.
    """
    art = draw_art(source, offered, findings)
    drawn = DrawnFont(
        source,
        {name: glyph for name, glyph in art.items() if glyph},
        {name: "" for name, glyph in art.items() if not glyph},
    )
    if source.file is None:
        if not art:
            findings.warning("empty-font", f"font `{source.name}` has no glyph", source.place)
        return drawn
    return _with_file(drawn, source.file, offered, asked, whole, findings)


def _with_file(
    drawn: DrawnFont,
    file: FontFile,
    offered: Collection[str],
    asked: Iterable[str],
    whole: bool,
    findings: Findings,
) -> DrawnFont:
    sound = _settings_are_sound(drawn.source, file, offered, findings)
    try:
        bitmaps = open_font(file.path)
    except FontFileError as error:
        findings.error("font-file", f"font file `{file.path.name}` {error}", file.place)
        return DrawnFont(drawn.source, drawn.glyphs, drawn.refused, broken=True)
    if bitmaps.remark:
        findings.warning("font-file", f"font file `{file.path.name}` {bitmaps.remark}", file.place)
    if sound:
        everything = whole or len(bitmaps.names) <= LARGE
        names = bitmaps.names if everything else [n for n in asked if n in bitmaps.names]
        _print_glyphs(drawn, file, bitmaps, names)
    return DrawnFont(drawn.source, drawn.glyphs, drawn.refused, broken=not sound)


def _settings_are_sound(
    source: FontSource, file: FontFile, offered: Collection[str], findings: Findings
) -> bool:
    for item in dict.fromkeys((file.ink, file.paper)):
        report_unoffered(source, item, offered, file.place, findings)
    row, rows = source.baseline_row or 1, source.grid.rows
    if source.seat is Seat.BASELINE and row > rows:
        findings.error(
            "baseline-row",
            f"the baseline is under row {row}, and grid `{source.grid.name}` has {rows} rows",
            source.place,
        )
        return False
    return {file.ink, file.paper} <= set(offered)


def _print_glyphs(
    drawn: DrawnFont, file: FontFile, bitmaps: BitmapFont, names: Iterable[str]
) -> None:
    """Add glyphs of the file to the font, or the reason why they can't be."""
    font, grid = drawn.source.name, drawn.source.grid.name
    placement = Placement(drawn.source)
    kinds = {"1": file.ink, "0": file.paper}
    for name in names:
        if name in drawn.glyphs or name in drawn.refused:
            continue
        try:
            bits = placement.bits(bitmaps.draw(name))
        except FontFileError as error:
            drawn.refused[name] = f"font file `{file.path.name}` {error}"
        except MisfitError as error:
            drawn.refused[name] = f"glyph `{name}` of font `{font}` {error}"
        else:
            shown = tuple(map(kinds.__getitem__, bits))
            drawn.glyphs[name] = Glyph(name, font, grid, shown, file.place)
