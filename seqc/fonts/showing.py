"""Turns a text that somebody asks for into frames, as a programme of its own."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.fonts.text import TextError, glyph_names
from seqc.machine.findings import NOWHERE, Findings, InputError
from seqc.machine.glyphs import Font, Frame, Glyph, Programme
from seqc.machine.model import Machine
from seqc.machine.parts import Lane, items_of

ASKED = "asked"
A_SECOND_US = 1_000_000


def show_text(
    machine: Machine, text: str, grid: str | None = None, font: str | None = None
) -> Programme:
    """The programme that shows a text on one grid, at the cadence of the machine's first programme.

    Without a font the first one declared for the grid is taken, without either the first font. The
    cadence is a second where the machine has no programme. Raises InputError when there is no such
    grid or font, or when the font has no such glyph.
    """
    findings = Findings()
    chosen = font_named(machine, font, grid)
    try:
        names = glyph_names(text)
    except TextError as error:
        findings.error("text-brace", f"{error} in the text to show", NOWHERE)
        raise InputError(findings) from error
    missing = [name for name in dict.fromkeys(names) if name not in chosen.by_name]
    for name in missing:
        message = f"font `{chosen.name}` has no glyph {name!r} for grid `{chosen.grid.name}`"
        findings.error("missing-glyph", message, chosen.place)
    if not names:
        findings.error("empty-show", "there is nothing to show", NOWHERE, "give a text to show")
    if findings.has_errors:
        raise InputError(findings)
    every_us = machine.programmes[0].every_us if machine.programmes else A_SECOND_US
    frames = tuple(Frame((chosen.by_name[name],)) for name in names)
    return Programme(ASKED, frames, every_us, place=machine.place)


def all_of(machine: Machine, kind: str, grid: str | None = None) -> Programme:
    """The programme that shows one kind in every cell that has it, of one grid or of all, once.

    A cell that doesn't have it shows what it has at rest.
    Raises InputError when there is no such grid, or when a lane has no magazine of the kind.
    """
    findings = Findings()
    lanes = [lane for lane in machine.lanes if grid in (None, lane.grid.name)]
    if not lanes:
        have = ", ".join(f"`{each.name}`" for each in machine.grids)
        message = f"the machine has no grid `{grid}`"
        findings.error("unknown-grid", message, machine.place, f"it has {have}")
    for lane in lanes:
        kinds = [item.name for item in lane.items]
        if kind not in kinds:
            message = f"grid `{lane.grid.name}` has no magazines of `{kind}`"
            hint = f"it has those of {', '.join(f'`{each}`' for each in kinds)}"
            findings.error("unknown-kind", message, lane.place, hint)
    if findings.has_errors:
        raise InputError(findings)
    glyphs = tuple(
        Glyph(f"all {kind}", "", lane.grid.name, tuple(_kinds_nearest(lane, kind)))
        for lane in lanes
    )
    every_us = machine.programmes[0].every_us if machine.programmes else A_SECOND_US
    return Programme(ASKED, (Frame(glyphs),), every_us, place=machine.place)


def _kinds_nearest(lane: Lane, kind: str) -> Iterator[str]:
    """For each cell the kind if it is offered there, else what is offered at rest."""
    for feed in lane.feeds:
        offered = [item.name for item in items_of(feed)]
        yield kind if kind in offered else offered[0]


def font_named(machine: Machine, font: str | None, grid: str | None = None) -> Font:
    """The font of that name for that grid; without either the first one that fits the other.

    Raises InputError when there is none.
    """
    for found in machine.fonts:
        if font in (None, found.name) and grid in (None, found.grid.name):
            return found
    words = [f" `{font}`" if font else "", f" for grid `{grid}`" if grid else ""]
    have = ", ".join(f"`{each.name}` for `{each.grid.name}`" for each in machine.fonts)
    findings = Findings()
    findings.error(
        "unknown-font",
        f"the machine has no font{''.join(words)}",
        machine.place,
        f"it has {have or 'none'}",
    )
    raise InputError(findings)


def named_programme(machine: Machine, name: str | None) -> Programme:
    """The programme of that name; without a name the first, or else all glyphs of the first font.

    Raises InputError when there is none.
    """
    for programme in machine.programmes:
        if name in (None, programme.name):
            return programme
    if name is None and machine.fonts:
        frames = tuple(Frame((glyph,)) for glyph in machine.fonts[0].glyphs)
        return Programme(ASKED, frames, A_SECOND_US, place=machine.place)
    findings = Findings()
    have = ", ".join(f"`{programme.name}`" for programme in machine.programmes) or "none"
    what = f"no programme `{name}`" if name else "neither a programme nor a font"
    findings.error("unknown-programme", f"the machine has {what}", machine.place, f"it has {have}")
    raise InputError(findings)
