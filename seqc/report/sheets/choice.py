"""Which sheets there are."""

from __future__ import annotations

from seqc.machine.model import Machine
from seqc.report.drawings.glyphs import glyph_sheet
from seqc.report.sheets.filling import filling_sheet
from seqc.report.sheets.parts import parts_sheet
from seqc.report.sheets.sheet import Sheet
from seqc.report.sheets.spares import spares_sheet
from seqc.report.sheets.wiring import wiring_sheet
from seqc.report.survey import Survey

SHEETS = ("wiring", "filling", "glyphs", "parts", "spares")


def sheet_named(name: str, survey: Survey) -> Sheet | None:
    """A sheet by its name; None where nothing is forecast, and it tells of that."""
    forecast = survey.programmes[0].forecast if survey.programmes else None
    match name:
        case "wiring":
            return wiring_sheet(survey.machine)
        case "parts":
            return parts_sheet(survey.machine, forecast)
        case "glyphs":
            return _glyphs(survey.machine, survey)
        case "filling":
            return filling_sheet(forecast) if forecast else None
        case _:
            return spares_sheet(forecast) if forecast else None


def _glyphs(machine: Machine, survey: Survey) -> Sheet:
    drawn = tuple(glyph_sheet(machine, font, font.glyphs) for font in survey.fonts)
    return Sheet("glyphs", f"Glyphs of {machine.name}", (), (), drawn)
