"""Which sheets there are, and what each needs to be known."""

from __future__ import annotations

from collections.abc import Iterable

from seqc.forecast.result import Forecast
from seqc.machine.model import Machine
from seqc.report.drawings.glyphs import glyph_sheet
from seqc.report.sheets.filling import filling_sheet
from seqc.report.sheets.parts import parts_sheet
from seqc.report.sheets.sheet import Sheet
from seqc.report.sheets.spares import spares_sheet
from seqc.report.sheets.wiring import wiring_sheet
from seqc.report.survey import FontShown

GLYPHS_A_PAGE = 48

SHEETS = ("wiring", "filling", "glyphs", "parts", "spares")


def sheets_of(machine: Machine, forecast: Forecast | None) -> list[Sheet]:
    """All sheets but that of glyphs; those that need a forecast only where there is one."""
    foreseen = [filling_sheet(forecast), spares_sheet(forecast)] if forecast else []
    return [wiring_sheet(machine), *foreseen, parts_sheet(machine, forecast)]


def glyphs_sheet(machine: Machine, fonts: Iterable[FontShown]) -> Sheet:
    """The glyphs of all fonts with what they take, so many to a page."""
    drawn = tuple(
        glyph_sheet(machine, font, font.glyphs[first : first + GLYPHS_A_PAGE])
        for font in fonts
        for first in range(0, len(font.glyphs), GLYPHS_A_PAGE)
    )
    return Sheet("glyphs", f"Glyphs of {machine.name}", (), (), drawn)
