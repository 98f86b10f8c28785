"""From a file to the list of designs: what was missing, what is to be shown, what is offered."""

from __future__ import annotations

import pathlib
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

from seqc.fonts import showing
from seqc.fonts.text import TextError, glyph_names
from seqc.linkages.draft import Draft, completed, read_draft
from seqc.linkages.glyph_file import font_text, is_font_file
from seqc.linkages.offers import Offer, Wish, offers, read_text
from seqc.linkages.question import Shape
from seqc.machine.findings import NOWHERE, Findings, InputError
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Lane


@dataclass(frozen=True)
class Asked:
    """What a call asks for; `show` and `reserve` are texts of glyphs."""

    show: str | None
    reserve: str
    font: str | None
    shape: Shape
    every_picture: bool
    built: tuple[str, ...]
    most_passes: int


@dataclass(frozen=True)
class Linkages:
    """The designs for a lane of a machine, the plain one first if it is among them."""

    machine: Machine
    lane: Lane
    draft: Draft
    wish: Wish
    offers: tuple[Offer, ...]


def find(
    path: pathlib.Path, asked: Asked, findings: Findings, executor: Executor | None = None
) -> Linkages:
    """The designs for a font; raises InputError when the file or the call can't be understood."""
    names = _names(asked.show or "")
    if is_font_file(path):
        wanted = (*names, *_names(asked.reserve))
        draft = completed(path, font_text(path, wanted, findings), findings)
    else:
        draft = read_draft(path, findings)
    machine = read_text(draft, draft.text, findings)
    font = showing.font_named(machine, asked.font)
    glyphs = _glyphs(machine, asked.show, font.name) if names else font.glyphs
    if not glyphs:
        findings.error("empty-font", f"font `{font.name}` has no glyph", font.place)
        raise InputError(findings)
    reserve = _glyphs(machine, asked.reserve, font.name)
    lane = machine.lane_of(font.grid.name)
    if lane.others:
        message = f"linkages of grid `{lane.grid.name}` aren't sought, since some cells differ"
        hint = "leave the second lane out, and its cells from the `shape` of the grid"
        findings.error("cells-differ", message, lane.place, hint)
        raise InputError(findings)
    wish = Wish(
        tuple(dict.fromkeys(glyphs)),
        asked.most_passes,
        tuple(dict.fromkeys(reserve)),
        asked.shape,
        asked.every_picture,
        asked.built,
    )
    return Linkages(machine, lane, draft, wish, offers(draft, machine, lane, wish, executor))


def _names(text: str) -> Sequence[str]:
    try:
        return glyph_names(text)
    except TextError as error:
        findings = Findings()
        findings.error("text-brace", f"{error} in the text to show", NOWHERE)
        raise InputError(findings) from error


def _glyphs(machine: Machine, text: str | None, font: str) -> tuple[Glyph, ...]:
    if not text:
        return ()
    frames = showing.show_text(machine, text, font=font).frames
    return tuple(glyph for frame in frames for glyph in frame)
