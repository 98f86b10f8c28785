"""Glyphs as pictures: one by itself, and a sheet of many with what each takes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seqc.machine.model import Machine
from seqc.machine.parts import Grid
from seqc.report.drawings.svg import Drawing, drawing, tag, write
from seqc.report.drawings.tones import (
    Look,
    draw_board,
    draw_items,
    draw_picture,
    looks_of,
    words_of,
)
from seqc.report.survey import FontShown, GlyphShown
from seqc.report.words import ms

SIDE = 104
GAP, CAPTION, LEGEND = 22, 46, 30
ACROSS = 6


def glyph_picture(
    grid: Grid, kinds: Sequence[str | None], looks: Mapping[str, Look], title: str, side: float = 96
) -> Drawing:
    """One picture, its longer side as long as asked."""
    scale = side / max(grid.rows, grid.columns)
    size = grid.columns * scale, grid.rows * scale
    picture = drawing(*size, title, words_of(grid, kinds))
    picture.root.set("viewBox", f"0 0 {grid.columns} {grid.rows}")
    draw_board(picture.root, grid, lines=False)
    draw_picture(picture.root, grid, kinds, looks)
    return picture


def figures_of(shown: GlyphShown) -> tuple[str, ...]:
    """What a glyph takes, in short: passes, pulses, load and change; or that it is out of reach."""
    if shown.plan is None or shown.timing is None:
        return ("out of reach",)
    passes = max((len(grid.passes) for grid in shown.plan), default=0)
    proof = "" if shown.plan.proven else " (not proven fewest)"
    return (
        f"{passes} {'pass' if passes == 1 else 'passes'}, {shown.plan.pulses} pulses{proof}",
        f"load {ms(shown.timing.load_time_us)}, change {ms(shown.timing.change_us)}",
    )


def glyph_sheet(machine: Machine, font: FontShown, shown: Sequence[GlyphShown]) -> Drawing:
    """A sheet of glyphs with their passes, pulses and times, and a legend of the kinds."""
    grid, looks = font.font.grid, looks_of(machine)
    scale = SIDE / max(grid.rows, grid.columns)
    wide, high = grid.columns * scale, grid.rows * scale
    step = max(wide, 158) + GAP, high + CAPTION + GAP
    across = max(1, min(ACROSS, len(shown)))
    rows = -(-len(shown) // across)
    size = max(across * step[0], 320) + GAP, rows * step[1] + LEGEND + GAP
    sheet = drawing(*size, f"{font.font.name} of {machine.name}", f"{len(shown)} glyphs")
    for rank, each in enumerate(shown):
        x, y = GAP + rank % across * step[0], GAP + rank // across * step[1]
        place = f"translate({x:g} {y:g}) scale({scale:g})"
        group = tag(sheet.root, "g", transform=place)
        draw_board(group, grid)
        draw_picture(group, grid, each.glyph.kinds, looks)
        write(sheet.root, x, y + high + 15, each.glyph.name, "strong")
        for line, words in enumerate(figures_of(each), 1):
            write(sheet.root, x, y + high + 15 + 13 * line, words, "small faint")
    draw_legend(sheet, looks, GAP, size[1] - LEGEND)
    return sheet


def draw_legend(sheet: Drawing, looks: Mapping[str, Look], x: float, y: float) -> None:
    """The kinds beside their names."""
    for look in looks.values():
        group = tag(sheet.root, "g", transform=f"translate({x:g} {y:g}) scale(16)")
        draw_items(group, looks, [(0.5, 0.5, look.kind)])
        write(sheet.root, x + 20, y + 12, look.kind, "small")
        x += 36 + 7 * len(look.kind)
