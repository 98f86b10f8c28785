"""Pictures alone: which there are, and how several stand on one sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Lane
from seqc.report.drawings.glyphs import glyph_sheet
from seqc.report.drawings.lane import lane_drawing
from seqc.report.drawings.linkages import linkage_drawing
from seqc.report.drawings.svg import Drawing, stacked
from seqc.report.drawings.timing import timing_chart
from seqc.report.drawings.tracks import tracks_of
from seqc.report.survey import FontShown
from seqc.simulator.trace import Trace

PICTURES = ("timing", "glyphs", "linkages", "lane", "wear")
FORMATS = (".svg", ".png", ".pdf")
DOTS = 2
"""Dots of a PNG for each CSS pixel."""


def linkages_picture(machine: Machine) -> Drawing:
    """The linkages of every grid that isn't like another."""
    return stacked(f"linkages of {machine.name}", _of_lanes(machine, linkage_drawing))


def lanes_picture(machine: Machine) -> Drawing:
    """The lane of every grid that isn't like another."""
    return stacked(f"lanes of {machine.name}", _of_lanes(machine, lane_drawing))


def _of_lanes(machine: Machine, draw: Callable[[Machine, Lane], Drawing]) -> list[Drawing]:
    different = {
        (lane.grid.cells, lane.feed, lane.others, lane.gates): lane
        for lane in reversed(machine.lanes)
    }
    return [draw(machine, lane) for lane in reversed(different.values())]


def glyphs_picture(
    machine: Machine, fonts: Sequence[FontShown], chosen: Iterable[Glyph] | None
) -> Drawing:
    """The glyphs of all fonts, or those that are chosen."""
    wanted = None if chosen is None else {(glyph.name, glyph.kinds) for glyph in chosen}
    sheets = []
    for font in fonts:
        shown = [
            one
            for one in font.glyphs
            if wanted is None or (one.glyph.name, one.glyph.kinds) in wanted
        ]
        if shown:
            sheets.append(glyph_sheet(machine, font, shown))
    return stacked(f"glyphs of {machine.name}", sheets)


def timing_picture(machine: Machine, trace: Trace, run: int, title: str) -> Drawing:
    """The timing chart of one run of a trace."""
    return timing_chart(machine, tracks_of(machine, trace, trace.runs[run : run + 1]), title)


def written(picture: Drawing, suffix: str) -> bytes:
    """A picture as a file of a format; raises ImportError without the extra `pictures`."""
    if suffix == ".svg":
        return picture.alone.encode()
    import cairosvg

    content = picture.alone.encode()
    if suffix == ".pdf":
        return bytes(cairosvg.svg2pdf(bytestring=content))
    return bytes(cairosvg.svg2png(bytestring=content, scale=DOTS))
